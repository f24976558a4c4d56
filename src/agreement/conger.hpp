#pragma once

#include "agreement/category_counts.hpp"
#include "agreement/estimate.hpp"
#include "agreement/kappa.hpp"

namespace evenhand::agreement {

/// Conger's kappa: Cohen's kappa for several fixed raters, chance agreement being that of each pair's
/// own margins, averaged over pairs: 1 - (mean pairwise disagreement) / (mean over pairs g < h of
/// sum_kl (1 - w_kl) p_gk p_hl). For two raters it is Cohen's kappa.
///
/// placings   the cases scored by every rater are used
/// undefined  fewer than two raters; no case scored by all; every rater gave every case one and the
///            same score (0/0)
/// cost       O(scores + (cases + raters) q^2), never a pass over pairs of raters
///
/// Conger AJ (1980). Psychological Bulletin 88:322-328.
/// Reference values: tests/reference/expected.csv, conger_kappa
Value conger_kappa(const Placings& placings, const AgreementWeights& weights);

}  // namespace evenhand::agreement
