#pragma once

#include "agreement/category_counts.hpp"
#include "agreement/estimate.hpp"
#include "agreement/kappa.hpp"

namespace evenhand::agreement {

/// Light's kappa: the mean of Cohen's kappas of all pairs of raters, each pair on the cases both scored.
///
/// undefined  fewer than two raters; a pair without a kappa: no case scored by both, or both gave
///            every such case one and the same score (the mean of the others would be that of a
///            choice of pairs)
/// cost       O(raters^2 (cases + q^2)): leave it out for many raters
///
/// Light RJ (1971). Psychological Bulletin 76:365-377.
/// Reference values: tests/reference/expected.csv, light_kappa
Value light_kappa(const Placings& placings, const AgreementWeights& weights);

}  // namespace evenhand::agreement
