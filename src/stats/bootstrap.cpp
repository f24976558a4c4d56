#include "stats/bootstrap.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/parallel.hpp"
#include "base/random.hpp"
#include "stats/distributions.hpp"

namespace evenhand::stats {
namespace {

constexpr std::size_t fewest_values = 100;

std::optional<BootstrapProblem> problem_of(const Resampled& resampled) {
  if (resampled.values.size() < fewest_values) return BootstrapProblem::too_few_values;
  if (10 * resampled.undefined > resampled.values.size() + resampled.undefined)
    return BootstrapProblem::often_undefined;
  return std::nullopt;
}

/// The quantile at p of values in ascending order.
double quantile(std::span<const double> sorted, double p) {
  const double place = p * static_cast<double>(sorted.size() + 1) - 1.0;
  const double last = static_cast<double>(sorted.size() - 1);
  const double held = std::clamp(place, 0.0, last);
  const auto below = static_cast<std::size_t>(held);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return sorted[below] + (held - static_cast<double>(below)) * (sorted[above] - sorted[below]);
}

std::vector<double> in_order(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values;
}

}  // namespace

Resampled resample_cases(std::size_t cases, const WeightedStatistic& statistic,
                         const BootstrapOptions& options) {
  constexpr std::size_t in_a_block = 64;
  constexpr double none = std::numeric_limits<double>::quiet_NaN();
  std::vector<double> values(options.resamples, none);
  const std::size_t blocks = (options.resamples + in_a_block - 1) / in_a_block;
  base::in_parallel(cases == 0 ? 0 : blocks, options.threads, [&](std::size_t block) {
    std::vector<double> weights(cases);
    const std::size_t end = std::min((block + 1) * in_a_block, options.resamples);
    for (std::size_t b = block * in_a_block; b < end; ++b) {
      base::SplitMix random(options.seed, b);
      std::fill(weights.begin(), weights.end(), 0.0);
      for (std::size_t draw = 0; draw < cases; ++draw) weights[random.index(cases)] += 1.0;
      if (const auto value = statistic(weights)) values[b] = *value;
    }
  });
  Resampled resampled;
  for (const double value : values)
    if (!std::isnan(value)) resampled.values.push_back(value);
  resampled.undefined = options.resamples - resampled.values.size();
  return resampled;
}

std::vector<double> without_each_case(std::size_t cases, const WeightedStatistic& statistic) {
  std::vector<double> weights(cases, 1.0), values;
  for (std::size_t i = 0; i < cases; ++i) {
    weights[i] = 0.0;
    const auto value = statistic(weights);
    weights[i] = 1.0;
    if (!value) return {};
    values.push_back(*value);
  }
  return values;
}

BootstrapResult percentile_limits(const Resampled& resampled, double confidence) {
  if (const auto problem = problem_of(resampled)) return tl::unexpected(*problem);
  const auto sorted = in_order(resampled.values);
  const double tail = (1.0 - confidence) / 2.0;
  return BootstrapLimits{quantile(sorted, tail), quantile(sorted, 1.0 - tail)};
}

// Efron's letters: z0 bias correction, a acceleration, alpha the levels that replace the nominal ones.
BootstrapResult bca_limits(double estimate, const Resampled& resampled, std::span<const double> without_each,
                           double confidence) {
  if (const auto problem = problem_of(resampled)) return tl::unexpected(*problem);
  if (without_each.empty()) return tl::unexpected(BootstrapProblem::no_acceleration);
  double below = 0.0;
  for (const double value : resampled.values) below += value < estimate ? 1.0 : value == estimate ? 0.5 : 0.0;
  const auto z0 = normal_quantile(below / static_cast<double>(resampled.values.size()));
  if (!z0) return tl::unexpected(BootstrapProblem::outside);

  double mean = 0.0;
  for (const double value : without_each) mean += value / static_cast<double>(without_each.size());
  double squares = 0.0, cubes = 0.0;
  for (const double value : without_each) {
    const double d = mean - value;
    squares += d * d;
    cubes += d * d * d;
  }
  if (!(squares > 0.0)) return tl::unexpected(BootstrapProblem::no_acceleration);
  const double a = cubes / (6.0 * std::pow(squares, 1.5));

  const auto z = normal_quantile(1.0 - (1.0 - confidence) / 2.0);
  if (!z) return tl::unexpected(BootstrapProblem::too_few_values);
  const auto level = [&](double z_alpha) -> std::optional<double> {
    const double shifted = *z0 + z_alpha;
    if (!(a * shifted < 1.0)) return std::nullopt;
    const auto tail = normal_upper_tail(-(*z0 + shifted / (1.0 - a * shifted)));
    return tail ? std::optional(*tail) : std::nullopt;
  };
  const auto lower = level(-*z), upper = level(*z);
  if (!lower || !upper) return tl::unexpected(BootstrapProblem::no_acceleration);
  const auto sorted = in_order(resampled.values);
  return BootstrapLimits{quantile(sorted, *lower), quantile(sorted, *upper)};
}

}  // namespace evenhand::stats
