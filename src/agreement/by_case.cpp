#include "agreement/by_case.hpp"

#include <cmath>

#include "stats/distributions.hpp"

namespace evenhand::agreement {
namespace {

constexpr double most_draws = 2e8;  // some seconds

Reason reason_of(stats::BootstrapProblem problem) {
  switch (problem) {
    case stats::BootstrapProblem::too_few_values:
      return "fewer than 100 resamples of the cases have a value";
    case stats::BootstrapProblem::often_undefined:
      return "more than one resample of the cases in ten has no value";
    case stats::BootstrapProblem::outside:
      return "the estimate lies outside all resamples of the cases";
    case stats::BootstrapProblem::no_acceleration:
      break;
  }
  return "without one of the cases there is no value, or no case moves it";
}

Estimate limitless(const Value& estimate, Reason reason) { return {estimate, reason, reason, {}, false}; }

}  // namespace

Estimate resampled_by_case(const Value& estimate, std::size_t cases,
                           const stats::WeightedStatistic& statistic, const std::vector<double>& without_each,
                           const ResampleOptions& options) {
  if (!estimate) return {estimate, estimate, estimate, {}, false};
  if (options.bootstrap.resamples == 0) return limitless(estimate, "no resamples were asked for");
  if (static_cast<double>(cases) * static_cast<double>(options.bootstrap.resamples) > most_draws)
    return limitless(estimate, "too many cases to resample; ask for fewer resamples");
  const auto resampled = stats::resample_cases(cases, statistic, options.bootstrap);
  if (const auto limits = stats::bca_limits(*estimate, resampled, without_each, options.confidence))
    return {estimate, limits->lower, limits->upper, "BCa bootstrap by case", false};
  const auto limits = stats::percentile_limits(resampled, options.confidence);
  if (!limits) return limitless(estimate, reason_of(limits.error()));
  return {estimate, limits->lower, limits->upper, "percentile bootstrap by case", false};
}

EstimateWithError without_limits(const Value& estimate, Reason reason) {
  if (!estimate) return {{estimate, estimate, estimate, {}, false}, estimate};
  return {limitless(estimate, reason), reason};
}

EstimateWithError jackknifed_by_case(const Value& estimate, std::size_t cases,
                                     const std::function<Value(std::size_t)>& without, double confidence) {
  if (!estimate) return {{estimate, estimate, estimate, {}, false}, estimate};
  if (cases < 3) return without_limits(estimate, "fewer than three cases: their spread cannot be told");
  std::vector<double> values;
  for (std::size_t i = 0; i < cases; ++i) {
    const Value value = without(i);
    if (!value) return without_limits(estimate, "without one of the cases there is no value");
    values.push_back(*value);
  }
  const auto n = static_cast<double>(cases);
  double mean = 0.0, squares = 0.0;
  for (const double value : values) mean += value / n;
  for (const double value : values) squares += (value - mean) * (value - mean);
  const double se = std::sqrt((n - 1.0) / n * squares);
  const auto t = stats::t_quantile(1.0 - (1.0 - confidence) / 2.0, n - 1.0);
  if (!t) return without_limits(estimate, "the limits could not be computed");
  EstimateWithError result;
  result.estimate = {estimate, *estimate - *t * se, *estimate + *t * se, "jackknife by case", false};
  result.estimate.outside_range = *result.estimate.lower < -1.0 || *result.estimate.upper > 1.0;
  result.se = se;
  return result;
}

Estimate jackknifed_z_by_case(const Value& estimate, std::size_t cases,
                              const std::function<Value(std::size_t)>& without, double confidence) {
  const auto z = [](const Value& value) -> Value {
    if (!value) return value;
    if (!(std::abs(*value) < 1.0))
      return Reason("agreement is perfect, with or without one of the cases: no error can be told");
    return std::atanh(*value);
  };
  if (!estimate) return {estimate, estimate, estimate, {}, false};
  const Value at = z(estimate);
  if (!at) return {estimate, at, at, {}, false};
  const Estimate on_z =
      jackknifed_by_case(at, cases, [&](std::size_t i) { return z(without(i)); }, confidence).estimate;
  if (!on_z.lower) return {estimate, on_z.lower, on_z.upper, {}, false};
  return {estimate, std::tanh(*on_z.lower), std::tanh(*on_z.upper), "jackknife by case of Fisher's z", false};
}

}  // namespace evenhand::agreement
