#pragma once

#include "agreement/chance_corrected.hpp"

namespace evenhand::agreement {

/// Brennan and Prediger's coefficient: agreement beyond what raters would reach who pick every
/// category of the list with the same probability.
///
/// pe = (sum of all weights) / q^2, q the number of categories in the list (used or not).
///
/// counts     n cases by any raters, any score missing
/// undefined  no case scored by two raters or more; one category in the list; weights that count any
///            two categories as agreeing. Error and limits: fewer than two cases.
/// range      -pe / (1 - pe), which is below -1 for most weights, to 1
/// cost       O(ratings q), less where few categories are used for a case
///
/// Brennan RL, Prediger DJ (1981). Educational and Psychological Measurement 41:687-699. Weights,
/// several raters, error and t limits: Gwet KL (2014), Handbook of Inter-Rater Reliability.
/// Reference values: tests/reference/expected.csv, brennan_prediger (the estimate; its error is held
/// against a numerical derivative in tests/agreement/chance_second_computation_test.cpp)
ChanceCorrected brennan_prediger(const CategoryCounts& counts, const AgreementWeights& weights,
                                 double confidence = 0.95);
/// The same for two raters, O(q^2), from their cross table. `alone`: cases that only one of them scored,
/// by category; without it the cases that both scored are all there are.
ChanceCorrected brennan_prediger(const CrossTable& table, const AgreementWeights& weights,
                                 double confidence = 0.95, std::span<const std::size_t> alone = {});

}  // namespace evenhand::agreement
