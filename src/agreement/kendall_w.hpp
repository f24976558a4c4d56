#pragma once

#include <cstddef>

#include "agreement/estimate.hpp"
#include "agreement/rating_table.hpp"

namespace evenhand::agreement {

struct RankConcordance {
  Value w;            ///< with tie correction, in [0, 1]
  Value uncorrected;  ///< as if there were no ties
  Value chi2;         ///< m (n - 1) W
  Value df;           ///< n - 1
  Value p;
  Value f;      ///< (m - 1) W / (1 - W): better than chi2 for few cases
  Value f_df1;  ///< n - 1 - 2 / m
  Value f_df2;  ///< (m - 1) df1
  Value f_p;
  std::size_t cases;  ///< scored by every rater: the ones used

  static RankConcordance undefined(Reason reason);
};

/// Kendall's coefficient of concordance: how alike m raters rank n cases, whatever their levels.
/// W = 12 S / (m^2 (n^3 - n) - m T), S the sum of squared deviations of the rank sums, T the sum of
/// t^3 - t over the ties of every rater.
///
/// table      n cases x m raters on an ordinal scale; the cases scored by every rater are used
/// undefined  fewer than two raters; fewer than two such cases; every rater gave all cases the same
///            score (0/0). F: W is 1 (infinite), or two raters and two cases (no degree of freedom).
/// cost       O(m n log n)
///
/// Kendall MG, Babington Smith B (1939). Annals of Mathematical Statistics 10:275-287. Ties: Kendall MG
/// (1945). Biometrika 33:239-251.
/// Reference values: tests/reference/expected.csv, kendall_w*
RankConcordance kendall_w(const RatingTable& table);

}  // namespace evenhand::agreement
