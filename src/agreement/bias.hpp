#pragma once

#include <span>

#include "agreement/estimate.hpp"
#include "stats/moments.hpp"

namespace evenhand::agreement {

/// How much higher the first scores than the second, in score points.
struct Bias {
  Estimate bias;     ///< mean of first - second, t limits
  Value p;           ///< paired t test, two-sided
  Value wilcoxon_p;  ///< signed-rank test, two-sided
  Value mae;         ///< mean of |first - second|
  Value rmse;        ///< square root of the mean of (first - second)^2

  static Bias undefined(Reason reason);
};

/// first, second  scores of the same cases on an interval scale
/// undefined      no case. Limits: fewer than two cases. p: fewer than two cases, or all
///                differences equal. wilcoxon_p: all differences zero.
/// Reference values: tests/reference/expected.csv, ba_bias*, bias_mae, bias_rmse, wilcoxon_p
Bias bias(std::span<const double> first, std::span<const double> second, double confidence = 0.95);
/// The same from the differences that occur.
Bias bias(std::span<const stats::Counted> differences, double confidence = 0.95);

}  // namespace evenhand::agreement
