#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <vector>

#include "agreement/estimate.hpp"
#include "stats/bootstrap.hpp"

namespace evenhand::agreement {

struct ResampleOptions {
  double confidence = 0.95;
  stats::BootstrapOptions bootstrap = {};  ///< no resamples: no limits
};

/// Limits of a statistic of cases by resampling them: bias-corrected and accelerated, or the percentiles of
/// the resamples where those have no value. They are for these very raters: only the cases are a sample.
///
/// statistic     of cases that are each counted so many times
/// without_each  the statistic without each case in turn; empty when it is not known
/// undefined     as the estimate is; limits: no resamples asked for, more than 2e8 case draws, one resample
///               in ten or more without a value
/// Sources: stats/bootstrap.hpp.
Estimate resampled_by_case(const Value& estimate, std::size_t cases,
                           const stats::WeightedStatistic& statistic, const std::vector<double>& without_each,
                           const ResampleOptions& options);

struct EstimateWithError {
  Estimate estimate = Estimate::undefined(not_asked);
  Value se = not_asked;
};

/// An estimate whose error and limits have no value, for one reason.
EstimateWithError without_limits(const Value& estimate, Reason reason);

/// An estimate with the error that leaving out each case in turn shows, sqrt((n-1)/n sum (v_i - mean)^2),
/// and t limits with n - 1 degrees of freedom. For these very raters: only the cases are a sample.
///
/// without     the statistic without the i-th of the cases
/// undefined   as the estimate is; error and limits: fewer than three cases, or the statistic has no value
///             without one of them
/// Tukey JW (1958). Annals of Mathematical Statistics 29:614; Efron B, Tibshirani RJ (1993), ch. 11.
EstimateWithError jackknifed_by_case(const Value& estimate, std::size_t cases,
                                     const std::function<Value(std::size_t)>& without, double confidence);

/// The same on Fisher's z of a coefficient that ends at 1: limits tanh(z -/+ t se), which lean with it. Few
/// cases are covered far better so than by resampling them (reports/methods/coverage.md).
/// undefined  limits: as above, and where the estimate or a value without a case is not inside (-1, 1)
/// Fisher RA (1921). Metron 1:3-32 (the transformation).
Estimate jackknifed_z_by_case(const Value& estimate, std::size_t cases,
                              const std::function<Value(std::size_t)>& without, double confidence);

}  // namespace evenhand::agreement
