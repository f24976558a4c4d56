// Limits by resampling cases. R's package boot (recommended packages of R 4.2.2) is the reference for BCa and
// percentile limits of given replicates: its quantiles interpolate on the normal scale, ours linearly, so
// they agree to the spacing of the replicates; the exact values here are worked out by hand.
#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "stats/bootstrap.hpp"

using namespace evenhand::stats;

namespace {

/// Heights of a staircase: quantiles are known without a computer.
Resampled staircase() {
  Resampled resampled;
  for (int i = 1; i <= 999; ++i) resampled.values.push_back(i);
  return resampled;
}

std::vector<double> sample(std::size_t n, std::uint64_t seed) {
  evenhand::base::Random random(seed);
  std::vector<double> values;
  for (std::size_t i = 0; i < n; ++i) values.push_back(std::exp(random.normal()));
  return values;
}

WeightedStatistic mean_of(const std::vector<double>& values) {
  return [&values](std::span<const double> weights) -> std::optional<double> {
    double sum = 0.0, n = 0.0;
    for (std::size_t i = 0; i < values.size(); ++i) {
      sum += weights[i] * values[i];
      n += weights[i];
    }
    return n > 0.0 ? std::optional(sum / n) : std::nullopt;
  };
}

}  // namespace

TEST_CASE("percentile limits are the quantiles at (B + 1) p", "[reference]") {
  // Davison & Hinkley 1997, eq. 5.6: of 999 ordered replicates the 25th and the 975th at 95 %.
  const auto limits = percentile_limits(staircase(), 0.95);
  REQUIRE(limits);
  CHECK(limits->lower == Approx(25.0));
  CHECK(limits->upper == Approx(975.0));
}

TEST_CASE("BCa limits without bias and skewness are the percentile limits") {
  const std::vector<double> symmetric{-1.0, 0.0, 1.0};
  const auto limits = bca_limits(500.0, staircase(), symmetric, 0.95);
  REQUIRE(limits);
  CHECK(limits->lower == Approx(25.0).margin(1e-9));
  CHECK(limits->upper == Approx(975.0).margin(1e-9));
}

TEST_CASE("BCa limits follow Efron 1987, equations 2.2 to 2.4", "[reference]") {
  // By hand with R: z0 = qnorm(.6), a = sum d^3 / (6 (sum d^2)^1.5) of d = mean - v_i,
  // level = pnorm(z0 + (z0 + z) / (1 - a (z0 + z))), quantile at 1000 * level.
  //   v <- c(1, 1, 2, 6); d <- mean(v) - v; a <- sum(d^3) / (6 * sum(d^2)^1.5); z0 <- qnorm(599.5 / 999 + .5
  //   / 999)
  const std::vector<double> v{1.0, 1.0, 2.0, 6.0};
  const double d[] = {1.5, 1.5, 0.5, -3.5};
  double squares = 0.0, cubes = 0.0;
  for (const double x : d) squares += x * x, cubes += x * x * x;
  const double a = cubes / (6.0 * std::pow(squares, 1.5));
  const auto phi = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
  // 599 replicates lie below 600 and one equals it: (599 + .5) / 999.
  const double share = 599.5 / 999.0;
  double z0 = 0.0;
  for (double low = -3.0, high = 3.0; high - low > 1e-14;) {
    z0 = (low + high) / 2.0;
    (phi(z0) < share ? low : high) = z0;
  }
  const double z = 1.959963984540054;
  const auto limits = bca_limits(600.0, staircase(), v, 0.95);
  REQUIRE(limits);
  CHECK(limits->lower == Approx(1000.0 * phi(z0 + (z0 - z) / (1.0 - a * (z0 - z)))).epsilon(1e-6));
  CHECK(limits->upper == Approx(1000.0 * phi(z0 + (z0 + z) / (1.0 - a * (z0 + z)))).epsilon(1e-6));
}

TEST_CASE("the digits are the same for any number of threads, and change with the seed", "[property]") {
  const auto values = sample(17, 3);
  const auto one = resample_cases(17, mean_of(values), {.resamples = 777, .seed = 9, .threads = 1});
  const auto four = resample_cases(17, mean_of(values), {.resamples = 777, .seed = 9, .threads = 4});
  const auto other = resample_cases(17, mean_of(values), {.resamples = 777, .seed = 10, .threads = 1});
  CHECK(one.values == four.values);
  CHECK(one.values != other.values);
  CHECK(one.undefined == 0);
}

TEST_CASE("the spread of resampled means is that of the mean", "[property]") {
  const auto values = sample(60, 4);
  const auto resampled = resample_cases(60, mean_of(values), {.resamples = 20000, .seed = 1, .threads = 2});
  const double mean = std::accumulate(values.begin(), values.end(), 0.0) / 60.0;
  double squares = 0.0;
  for (const double x : values) squares += (x - mean) * (x - mean);
  const double expected = std::sqrt(squares / 60.0 / 60.0);  // the bootstrap's divisor is n
  double m = 0.0, s = 0.0;
  for (const double x : resampled.values) m += x / 20000.0;
  for (const double x : resampled.values) s += (x - m) * (x - m) / 20000.0;
  CHECK(m == Approx(mean).margin(5.0 * expected / std::sqrt(20000.0)));
  CHECK(std::sqrt(s) == Approx(expected).epsilon(0.03));  // Monte Carlo error .5 %
}

TEST_CASE("what cannot be resampled says why", "[edge]") {
  const auto never = [](std::span<const double>) { return std::optional<double>(); };
  const auto none = resample_cases(5, never, {.resamples = 200});
  CHECK(none.undefined == 200);
  CHECK(percentile_limits(none, 0.95).error() == BootstrapProblem::too_few_values);
  const auto no_case = resample_cases(0, never, {.resamples = 200});
  CHECK(no_case.undefined == 200);
  CHECK(percentile_limits({std::vector<double>(500, 1.0), 100}, 0.95).error() ==
        BootstrapProblem::often_undefined);
  const std::vector<double> moving{1.0, 2.0}, still{1.0, 1.0};
  CHECK(bca_limits(-1.0, staircase(), moving, 0.95).error() == BootstrapProblem::outside);
  CHECK(bca_limits(500.0, staircase(), still, 0.95).error() == BootstrapProblem::no_acceleration);
  CHECK(bca_limits(500.0, staircase(), {}, 0.95).error() == BootstrapProblem::no_acceleration);
  CHECK(without_each_case(3, never).empty());
}

TEST_CASE("indices are drawn without bias", "[property]") {
  evenhand::base::SplitMix random(5);
  std::vector<int> counts(7);
  for (int i = 0; i < 700000; ++i) ++counts[random.index(7)];
  for (const int count : counts) CHECK(std::abs(count - 100000) < 5 * 293);  // 5 SD
}
