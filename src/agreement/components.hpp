#pragma once

#include "agreement/estimate.hpp"
#include "agreement/rating_table.hpp"
#include "base/error.hpp"
#include "stats/mean_squares.hpp"

namespace evenhand::agreement {

/// Variances in squared score points.
struct Components {
  Value case_;
  Value rater;
  Value residual;

  static Components undefined(Reason reason) { return {reason, reason, reason}; }
};

/// Of case x rater (both random, one rating a cell) by expected mean squares:
/// case (MSC - MSE)/k, rater (MSR - MSE)/n, residual MSE. A negative one is reported as estimated.
/// Reference values: tests/reference/expected.csv, varcomp_* with design=case*rater
Components components_anova(const stats::TwoWayMeanSquares& squares);

struct OneWayComponents {
  double case_;   ///< (MSB - MSW) / k0, may be negative
  double within;  ///< MSW
};
OneWayComponents components_one_way(const stats::OneWayMeanSquares& squares);

/// Mean squares of the cases that every rater rated.
/// Errors: undefined, fewer than two such cases or two raters.
Result<stats::TwoWayMeanSquares> two_way(const RatingTable& table);
/// One-way mean squares of every rating.
Result<stats::OneWayMeanSquares> one_way(const RatingTable& table);

}  // namespace evenhand::agreement
