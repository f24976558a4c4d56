#include "agreement/cusum.hpp"

#include <algorithm>
#include <cmath>

#include "base/random.hpp"
#include "stats/moments.hpp"

namespace evenhand::agreement {
namespace {

Result<void> check(const CusumChart& chart) {
  if (!std::isfinite(chart.target)) return fail(Errc::invalid, "chart: the target is not a finite number");
  if (!(chart.allowance >= 0.0) || !std::isfinite(chart.allowance))
    return fail(Errc::invalid, "chart: the allowance must be 0 or more, not {}", chart.allowance);
  if (!(chart.limit > 0.0) || !std::isfinite(chart.limit))
    return fail(Errc::invalid, "chart: the limit must be above 0, not {}", chart.limit);
  return {};
}

Result<void> check(const EwmaChart& chart) {
  if (!std::isfinite(chart.target)) return fail(Errc::invalid, "chart: the target is not a finite number");
  if (!(chart.weight > 0.0 && chart.weight <= 1.0))
    return fail(Errc::invalid, "chart: the weight of the newest case must lie in (0, 1], not {}",
                chart.weight);
  if (!(chart.sd > 0.0) || !std::isfinite(chart.sd))
    return fail(Errc::invalid, "chart: the SD must be above 0, not {}", chart.sd);
  if (!(chart.width > 0.0) || !std::isfinite(chart.width))
    return fail(Errc::invalid, "chart: the width must be above 0, not {}", chart.width);
  return {};
}

Result<void> check(std::span<const double> errors) {
  for (std::size_t i = 0; i < errors.size(); ++i)
    if (!std::isfinite(errors[i]))
      return fail(Errc::invalid, "chart: error {} is not a finite number", i + 1);
  return {};
}

Result<void> check(const RunOptions& options) {
  if (options.runs < 1) return fail(Errc::invalid, "chart: at least one simulated run is needed");
  if (!(options.average >= 1.0) || !std::isfinite(options.average))
    return fail(Errc::invalid, "chart: the average run must be 1 case or more, not {}", options.average);
  return {};
}

/// Both sums and their runs, case after case.
class CusumState {
 public:
  explicit CusumState(const CusumChart& chart) : chart_(chart) {}

  const CusumPoint& next(double error) {
    at_.high = std::max(0.0, error - (chart_.target + chart_.allowance) + at_.high);
    at_.low = std::max(0.0, (chart_.target - chart_.allowance) - error + at_.low);
    at_.high_since = at_.high > 0.0 ? at_.high_since + 1 : 0;
    at_.low_since = at_.low > 0.0 ? at_.low_since + 1 : 0;
    at_.signal = std::max(at_.high, at_.low) > chart_.limit;
    return at_;
  }

 private:
  const CusumChart& chart_;
  CusumPoint at_;
};

class EwmaState {
 public:
  explicit EwmaState(const EwmaChart& chart)
      : chart_(chart),
        average_(chart.target),
        steady_(chart.width * chart.sd * std::sqrt(chart.weight / (2.0 - chart.weight))) {}

  EwmaPoint next(double error) {
    average_ += chart_.weight * (error - average_);
    left_ *= (1.0 - chart_.weight) * (1.0 - chart_.weight);
    const double half = steady_ * std::sqrt(1.0 - left_);
    return {.average = average_,
            .lower = chart_.target - half,
            .upper = chart_.target + half,
            .signal = std::abs(average_ - chart_.target) > half};
  }

 private:
  const EwmaChart& chart_;
  double average_;
  double steady_;
  double left_ = 1.0;  // (1 - weight)^(2 i)
};

CusumState start(const CusumChart& chart) { return CusumState(chart); }
EwmaState start(const EwmaChart& chart) { return EwmaState(chart); }

template <class Chart>
std::size_t run_length(std::span<const double> errors, const Chart& chart, double shift, std::size_t longest,
                       base::Random random) {
  auto state = start(chart);
  for (std::size_t i = 1; i < longest; ++i)
    if (state.next(errors[random.index(errors.size())] + shift).signal) return i;
  return longest;
}

std::size_t longest_run(const RunOptions& options) {
  return static_cast<std::size_t>(std::ceil(50.0 * options.average));
}

template <class Chart>
Result<RunLength> simulated_run(std::span<const double> errors, const Chart& chart, double shift,
                                const RunOptions& options) {
  for (const auto& checked : {check(chart), check(errors), check(options)})
    if (!checked) return tl::unexpected(checked.error());
  if (errors.empty()) return fail(Errc::invalid, "chart: no errors to draw from");
  if (!std::isfinite(shift)) return fail(Errc::invalid, "chart: the shift is not a finite number");
  std::vector<double> lengths(options.runs);
  for (std::size_t r = 0; r < options.runs; ++r)
    lengths[r] = static_cast<double>(
        run_length(errors, chart, shift, longest_run(options), base::Random(options.seed, r)));
  const auto moments = stats::moments(lengths);
  const double n = static_cast<double>(options.runs);
  const auto sd = stats::standard_deviation(*moments);
  return RunLength{.mean = moments->mean, .error = sd ? *sd / std::sqrt(n) : 0.0, .runs = options.runs};
}

/// Whether the mean run reaches the average asked for; stops as soon as that is sure.
template <class Chart>
bool long_enough(std::span<const double> errors, const Chart& chart, const RunOptions& options) {
  const double wanted = options.average * static_cast<double>(options.runs);
  double sum = 0.0;
  for (std::size_t r = 0; r < options.runs && sum < wanted; ++r)
    sum += static_cast<double>(
        run_length(errors, chart, 0.0, longest_run(options), base::Random(options.seed, r)));
  return sum >= wanted;
}

/// Finds the smallest `limit` of the chart (a reference into it) that makes its runs long enough.
template <class Chart>
Result<Designed<Chart>> design(std::span<const double> errors, Chart chart, double Chart::* limit,
                               const RunOptions& options) {
  double low = 0.0;
  double high = chart.*limit;
  for (int doubling = 0;; ++doubling) {
    chart.*limit = high;
    if (long_enough(errors, chart, options)) break;
    if (doubling == 40)
      return fail(Errc::undefined, "chart: no limit gives runs of {} cases on these errors", options.average);
    low = high;
    high *= 2.0;
  }
  while (high - low > 1e-6 * high) {
    chart.*limit = low + (high - low) / 2.0;
    (long_enough(errors, chart, options) ? high : low) = chart.*limit;
  }
  chart.*limit = high;
  RunOptions others = options;
  ++others.seed;
  const auto in_control = simulated_run(errors, chart, 0.0, others);
  if (!in_control) return tl::unexpected(in_control.error());
  return Designed<Chart>{chart, *in_control};
}

struct InControl {
  double target;
  double sd;  ///< about the target
};

Result<InControl> in_control(std::span<const double> errors, std::optional<double> target,
                             const RunOptions& options) {
  for (const auto& checked : {check(errors), check(options)})
    if (!checked) return tl::unexpected(checked.error());
  if (target && !std::isfinite(*target))
    return fail(Errc::invalid, "chart: the target is not a finite number");
  const auto moments = stats::moments(errors);
  if (!moments || moments->n < 2)
    return fail(Errc::undefined, "chart: at least two errors made in control are needed, not {}",
                errors.size());
  if (moments->squares == 0.0)
    return fail(Errc::undefined, "chart: all errors in control are alike, so they show no spread");
  const double n = static_cast<double>(moments->n);
  if (!target) return InControl{moments->mean, std::sqrt(moments->squares / (n - 1.0))};
  const double off = moments->mean - *target;
  return InControl{*target, std::sqrt((moments->squares + n * off * off) / n)};
}

}  // namespace

Result<Cusum> cusum(std::span<const double> errors, const CusumChart& chart) {
  for (const auto& checked : {check(chart), check(errors)})
    if (!checked) return tl::unexpected(checked.error());
  Cusum result;
  CusumState state(chart);
  for (std::size_t i = 0; i < errors.size(); ++i) {
    const CusumPoint& point = result.points.emplace_back(state.next(errors[i]));
    if (!point.signal || result.first_signal) continue;
    result.first_signal = i;
    result.upward = point.high > point.low;
    result.changed_after = i + 1 - (result.upward ? point.high_since : point.low_since);
  }
  return result;
}

Result<Ewma> ewma(std::span<const double> errors, const EwmaChart& chart) {
  for (const auto& checked : {check(chart), check(errors)})
    if (!checked) return tl::unexpected(checked.error());
  Ewma result;
  EwmaState state(chart);
  for (std::size_t i = 0; i < errors.size(); ++i) {
    result.points.push_back(state.next(errors[i]));
    if (result.points.back().signal && !result.first_signal) result.first_signal = i;
  }
  return result;
}

Result<RunLength> average_run(std::span<const double> errors, const CusumChart& chart, double shift,
                              const RunOptions& options) {
  return simulated_run(errors, chart, shift, options);
}

Result<RunLength> average_run(std::span<const double> errors, const EwmaChart& chart, double shift,
                              const RunOptions& options) {
  return simulated_run(errors, chart, shift, options);
}

Result<Designed<CusumChart>> design_cusum(std::span<const double> errors, double shift,
                                          std::optional<double> target, const RunOptions& options) {
  const auto control = in_control(errors, target, options);
  if (!control) return tl::unexpected(control.error());
  if (!(shift > 0.0) || !std::isfinite(shift))
    return fail(Errc::invalid, "chart: the shift to be seen must be above 0, not {}", shift);
  const CusumChart chart{.target = control->target, .allowance = shift / 2.0, .limit = control->sd};
  const auto [least, most] = std::ranges::minmax(errors);
  if (std::max(most - chart.target, chart.target - least) <= chart.allowance)
    return fail(Errc::undefined,
                "chart: no error in control is farther than {} from the target, so any limit holds; look for "
                "a smaller shift",
                chart.allowance);
  return design(errors, chart, &CusumChart::limit, options);
}

Result<Designed<EwmaChart>> design_ewma(std::span<const double> errors, double weight,
                                        std::optional<double> target, const RunOptions& options) {
  const auto control = in_control(errors, target, options);
  if (!control) return tl::unexpected(control.error());
  const EwmaChart chart{.target = control->target, .weight = weight, .sd = control->sd};
  if (auto checked = check(chart); !checked) return tl::unexpected(checked.error());
  return design(errors, chart, &EwmaChart::width, options);
}

}  // namespace evenhand::agreement
