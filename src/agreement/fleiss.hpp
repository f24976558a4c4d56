#pragma once

#include <cstddef>
#include <vector>

#include "agreement/chance_corrected.hpp"

namespace evenhand::agreement {

/// Fleiss' kappa of one category against all others.
struct KappaOfCategory {
  Value kappa;
  Value se0;
  Value z;
};

struct FleissKappas {
  Value kappa;                              ///< in [-1 / (raters - 1), 1]
  Value se0;                                ///< under the null hypothesis: for the test, not for an interval
  Value z;                                  ///< kappa / se0
  std::vector<KappaOfCategory> categories;  ///< in the order of the list
  std::size_t cases;                        ///< scored by every rater: the ones used
  std::size_t raters;

  static FleissKappas undefined(Reason reason, std::size_t categories);
};

/// Fleiss' kappa for several exchangeable raters, with the null error and the kappa of each category.
///
/// With n cases, m ratings of each, x_ij ratings of case i in category j, p_j their share and q_j = 1 - p_j:
///   kappa   1 - sum_ij x_ij (m - x_ij) / (n m (m - 1) sum_j p_j q_j)
///   kappa_j 1 - sum_i x_ij (m - x_ij) / (n m (m - 1) p_j q_j),  se0_j = sqrt(2 / (n m (m - 1)))
///   se0     sqrt(2 / (n m (m - 1))) sqrt((sum p_j q_j)^2 - sum p_j q_j (q_j - p_j)) / sum p_j q_j
///
/// counts     the cases with `raters` ratings are used, others left out; fleiss_all_scores uses all
/// undefined  fewer than two raters; no case scored by all; all scores the same (0/0). A category:
///            nobody used it, or it was the only one used.
/// cost       O(cases q + ratings)
///
/// Fleiss JL (1971). Psychological Bulletin 76:378-382 (its error is not used: it is wrong). Error:
/// Fleiss JL, Nee JCM, Landis JR (1979). Psychological Bulletin 86:974-977.
/// Reference values: tests/reference/expected.csv, fleiss_kappa*
FleissKappas fleiss_kappa(const CategoryCounts& counts, std::size_t raters);

/// Fleiss' kappa in Gwet's form: every score is used and each case counts alike. It equals
/// fleiss_kappa when no score is missing (weights none), and has an error that gives an interval.
///
/// pe = sum_kl w_kl p_k p_l, p_k the mean over cases of the share of ratings in category k.
///
/// undefined  no case scored by two raters or more; one category in the list; all scores the same
///            (0/0). Error and limits: fewer than two cases.
/// cost       O(ratings q + q^2)
///
/// Gwet KL (2014). Handbook of Inter-Rater Reliability, 4th edition.
/// Reference values: tests/reference/expected.csv, fleiss_gwet*
ChanceCorrected fleiss_all_scores(const CategoryCounts& counts, const AgreementWeights& weights,
                                  double confidence = 0.95);

}  // namespace evenhand::agreement
