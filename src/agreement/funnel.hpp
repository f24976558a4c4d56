#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "agreement/estimate.hpp"
#include "base/error.hpp"

namespace evenhand::agreement {

/// One rater of a round's funnel.
struct FunnelPoint {
  std::size_t cases = 0;
  Value mean = Reason("no case");  ///< signed error a case, in score points
  Value inner_lower = Reason("no limits"), inner_upper = Reason("no limits");  ///< 95 %
  Value outer_lower = Reason("no limits"), outer_upper = Reason("no limits");  ///< 99.8 %
  bool outside_inner = false;
  bool outside_outer = false;
};

/// The raters of one round side by side: mean error against the number of cases, with limits for a rater who
/// is like the others.
struct Funnel {
  Value center = Reason("no rater has a case");  ///< mean of all errors
  Value sd = Reason("no rater has a case");      ///< of single errors within a rater, pooled
  double df = 0.0;
  std::vector<FunnelPoint> raters;  ///< in the order given
  /// Mean squared distance from the center in standard errors, about 1 when raters differ by chance only.
  /// Well above it they do differ, and more lie outside than the limits say.
  Value spread = Reason("no rater has a case");
};

/// Limits: center -/+ t sd / sqrt(cases), t on the pooled degrees of freedom.
///
/// errors     by rater: signed errors, one a case, in score points. Rater minus peers where all scored
///            the same cases, for what a case does to everyone belongs to no rater; else rater minus key.
/// undefined  center: no error. sd, limits, spread: no rater with two cases, or no spread within raters;
///            spread: fewer than two raters.
/// Errors: invalid  an error is not finite
///
/// Spiegelhalter DJ (2005). Funnel plots for comparing institutional performance. Statistics in Medicine
/// 24:1185-1202 (95 and 99.8 % limits; the normal quantile there, t here, as the SD is estimated).
Result<Funnel> funnel(std::span<const std::vector<double>> errors);

}  // namespace evenhand::agreement
