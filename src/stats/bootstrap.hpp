#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include <tl/expected.hpp>

namespace evenhand::stats {

/// A statistic of cases that are each counted so many times (0: left out; 1: as in the data). Nothing
/// where it has no value. Called from several threads at once.
using WeightedStatistic = std::function<std::optional<double>(std::span<const double> case_weights)>;

struct BootstrapOptions {
  std::size_t resamples = 2000;
  std::uint64_t seed = 1;
  std::size_t threads = 1;
};

/// The statistic in resamples of the cases (drawn with replacement, as many as there are).
/// Resample b draws from stream b of the seed, so the digits are the same for any number of threads.
struct Resampled {
  std::vector<double> values;  ///< in the order of the resamples, those without a value left out
  std::size_t undefined = 0;   ///< how many had none
};
Resampled resample_cases(std::size_t cases, const WeightedStatistic& statistic,
                         const BootstrapOptions& options);

/// The statistic without each case in turn: what the acceleration of BCa limits needs. Empty when one of
/// them has no value.
std::vector<double> without_each_case(std::size_t cases, const WeightedStatistic& statistic);

struct BootstrapLimits {
  double lower;
  double upper;
};

/// Why there are no limits.
enum class BootstrapProblem {
  too_few_values,   ///< fewer than 100 resamples have a value
  often_undefined,  ///< more than one resample in ten has none
  outside,          ///< the estimate lies outside all resamples
  no_acceleration,  ///< the statistic without each case is not known, or no case moves it
};
using BootstrapResult = tl::expected<BootstrapLimits, BootstrapProblem>;

/// The middle `confidence` of the resampled values; quantiles by linear interpolation at
/// (B + 1) p, held within the values.
/// errors  too_few_values, often_undefined
/// Efron B, Tibshirani RJ (1993). An Introduction to the Bootstrap, ch. 13; quantiles as Davison AC,
/// Hinkley DV (1997), Bootstrap Methods and their Application, eq. 5.6.
BootstrapResult percentile_limits(const Resampled& resampled, double confidence);

/// Bias-corrected and accelerated limits.
///
/// estimate      the statistic of the data
/// without_each  the same without each case in turn
/// The bias correction counts a resample that equals the estimate as half below it: statistics of few
/// levels tie often.
/// errors  all of BootstrapProblem
/// Efron B (1987). Journal of the American Statistical Association 82:171-185.
BootstrapResult bca_limits(double estimate, const Resampled& resampled, std::span<const double> without_each,
                           double confidence);

}  // namespace evenhand::stats
