#pragma once

#include "agreement/chance_corrected.hpp"

namespace evenhand::agreement {

/// Gwet's coefficient: AC1 with weights none, AC2 with others. Chance is taken to act only where a
/// case is hard to tell, so it does not collapse when nearly all cases are of one category.
///
/// pe = T / (q (q - 1)) * sum p_k (1 - p_k), T the sum of all weights, q the number of categories in
/// the list (used or not), p_k the mean over cases of the share of ratings in category k.
///
/// counts     n cases by any raters, any score missing; a case with one rating counts for p_k only
/// undefined  no case scored by two raters or more; one category in the list; weights that count any
///            two categories as agreeing. Error and limits: fewer than two cases.
///            All scores in one of several categories: 1, with error 0 (chance is 0, not 0/0).
/// cost       O(ratings q), less where few categories are used for a case
///
/// Gwet KL (2008). British Journal of Mathematical and Statistical Psychology 61:29-48. Gwet KL
/// (2014). Handbook of Inter-Rater Reliability, 4th edition: the weighted form, the error conditional
/// on the raters and the limits by t with n - 1 degrees of freedom.
/// Reference values: tests/reference/expected.csv, gwet_ac*
ChanceCorrected gwet(const CategoryCounts& counts, const AgreementWeights& weights, double confidence = 0.95);
/// The same for two raters, O(q^2), from their cross table. `alone`: cases that only one of them scored,
/// by category; without it the cases that both scored are all there are.
ChanceCorrected gwet(const CrossTable& table, const AgreementWeights& weights, double confidence = 0.95,
                     std::span<const std::size_t> alone = {});

/// Share of the pairs of ratings of a case that agree (weighted), averaged over the cases with at
/// least two ratings; in [0, 1]. Undefined: there is no such case.
/// Reference values: tests/reference/expected.csv, pairwise_agreement
Value pairwise_agreement(const CategoryCounts& counts, const AgreementWeights& weights);

}  // namespace evenhand::agreement
