#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

#include "agreement/by_case.hpp"
#include "base/random.hpp"
#include "stats/distributions.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

std::vector<double> values() {
  base::Random random(2);
  std::vector<double> made;
  for (int i = 0; i < 25; ++i) made.push_back(random.uniform());
  return made;
}

double mean(const std::vector<double>& x) {
  return std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(x.size());
}

}  // namespace

TEST_CASE("the jackknife error of a mean is the standard error of the mean", "[reference]") {
  // Efron & Tibshirani 1993, section 11.2: exact for the mean.
  const auto x = values();
  const double n = static_cast<double>(x.size()), m = mean(x);
  double squares = 0.0;
  for (const double v : x) squares += (v - m) * (v - m);
  const double se = std::sqrt(squares / (n - 1.0) / n);
  const auto result =
      jackknifed_by_case(m, x.size(), [&](std::size_t i) { return Value((n * m - x[i]) / (n - 1.0)); }, 0.95);
  CHECK(*result.se == Approx(se).epsilon(1e-10));
  CHECK(*result.estimate.upper == Approx(m + *stats::t_quantile(0.975, n - 1.0) * se).epsilon(1e-10));
  CHECK(result.estimate.method == "jackknife by case");
}

TEST_CASE("limits without a value say why", "[edge]") {
  const auto says = [](const Value& value, std::string_view words) {
    return !value.defined() && value.why().find(words) != std::string_view::npos;
  };
  const auto two = jackknifed_by_case(0.5, 2, [](std::size_t) { return Value(0.4); }, 0.95);
  CHECK(*two.estimate.estimate == 0.5);
  CHECK(says(two.se, "fewer than three cases"));
  const auto hole =
      jackknifed_by_case(0.5, 5, [](std::size_t i) { return i ? Value(0.4) : Value("no case"); }, 0.95);
  CHECK(says(hole.estimate.lower, "without one of the cases"));
  const auto none =
      jackknifed_by_case(Reason("no case at all"), 5, [](std::size_t) { return Value(0.4); }, 0.95);
  CHECK(says(none.se, "no case at all"));

  const auto statistic = [](std::span<const double> w) -> std::optional<double> {
    return w[0] > 0.0 ? std::optional(w[0]) : std::nullopt;  // without a value in a third of the resamples
  };
  CHECK(
      says(resampled_by_case(1.0, 5, statistic, {}, {.bootstrap = {.resamples = 0}}).lower, "no resamples"));
  CHECK(says(resampled_by_case(1.0, 5, statistic, {}, {}).lower, "more than one resample"));
  CHECK(says(resampled_by_case(1.0, 5, statistic, {}, {.bootstrap = {.resamples = 50}}).lower,
             "fewer than 100"));
  CHECK(says(resampled_by_case(1.0, 3'000'000, statistic, {}, {}).lower, "too many cases"));
}

TEST_CASE("without a jackknife the percentiles of the resamples serve, and say so") {
  const auto x = values();
  const auto statistic = [&](std::span<const double> w) -> std::optional<double> {
    double sum = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) sum += w[i] * x[i];
    return sum / static_cast<double>(x.size());
  };
  const auto plain = resampled_by_case(mean(x), x.size(), statistic, {}, {});
  CHECK(plain.method == "percentile bootstrap by case");
  const auto better =
      resampled_by_case(mean(x), x.size(), statistic, stats::without_each_case(x.size(), statistic), {});
  CHECK(better.method == "BCa bootstrap by case");
  CHECK(*better.lower < mean(x));
  CHECK(*better.upper > mean(x));
}

TEST_CASE("on Fisher's z the limits lean toward the middle, and perfection has none", "[edge]") {
  const auto x = values();
  const double n = static_cast<double>(x.size()), m = mean(x);
  const auto without = [&](std::size_t i) { return Value((n * m - x[i]) / (n - 1.0)); };
  const Estimate limits = jackknifed_z_by_case(m, x.size(), without, 0.95);
  const Estimate on_z =
      jackknifed_by_case(
          std::atanh(m), x.size(), [&](std::size_t i) { return Value(std::atanh(*without(i))); }, 0.95)
          .estimate;
  CHECK(*limits.lower == Approx(std::tanh(*on_z.lower)));
  CHECK(*limits.upper == Approx(std::tanh(*on_z.upper)));
  CHECK(m - *limits.lower > *limits.upper - m);
  const Estimate perfect = jackknifed_z_by_case(1.0, 5, [](std::size_t) { return Value(1.0); }, 0.95);
  CHECK(*perfect.estimate == 1.0);
  CHECK(perfect.lower.why().find("no error can be told") != std::string_view::npos);
  const Estimate one = jackknifed_z_by_case(0.9, 5, [](std::size_t i) { return Value(i ? 0.8 : 1.0); }, 0.95);
  CHECK_FALSE(one.lower.defined());
}
