#pragma once

#include "agreement/estimate.hpp"
#include "agreement/rating_table.hpp"
#include "stats/mean_squares.hpp"

namespace evenhand::agreement {

/// Standard error of measurement, in score points.
struct Sem {
  Estimate agreement;              ///< sqrt(max(0, var_rater) + MSE); limits: modified large-sample
  Estimate consistency;            ///< sqrt(MSE); limits by chi-square with (n-1)(k-1) df
  bool rater_set_to_zero = false;  ///< the rater component was negative; 0 was used

  static Sem undefined(Reason reason);
};

/// Limits: df s^2 / chi-square quantile; for the sum MSR/n + (n-1)/n MSE modified large-sample, which hold
/// their level where Satterthwaite's degrees of freedom do not: with two raters who differ a lot those cover
/// .70 instead of .95 (reports/methods/coverage.md).
/// Weir JP (2005). Journal of Strength and Conditioning Research 19:231-240; Stratford PW,
/// Goldsmith CH (1997). Physical Therapy 77:745-750. Graybill FA, Wang CM (1980).
/// JASA 75:869-873.
/// Reference values: tests/reference/expected.csv, sem and mdc95
Sem sem(const stats::TwoWayMeanSquares& squares, double confidence = 0.95);

/// sqrt(MS_within): rater and residual together, cases with one rating do not help.
Value sem_within(const stats::TwoWayMeanSquares& squares);
/// SD of all ratings (divisor nk - 1) times sqrt(1 - ICC(2,1)).
/// Undefined where ICC(2,1) is.
Value sem_from_icc(const RatingTable& table);

/// z sqrt(2) SEM with z = 1.959963984540054: on 95 of 100 cases two raters differ by at most
/// this many points.
Value mdc95(const Value& sem, double z = 1.959963984540054);

}  // namespace evenhand::agreement
