#include "stats/proportion.hpp"

#include <cmath>

#include <catch2/catch.hpp>

#include "stats/distributions.hpp"

using namespace evenhand;
using namespace evenhand::stats;

namespace {

/// P(X >= x) for a binomial, term by term.
double upper_tail(int x, int n, double p) {
  double sum = 0.0;
  for (int k = x; k <= n; ++k)
    sum += std::exp(std::lgamma(n + 1.0) - std::lgamma(k + 1.0) - std::lgamma(n - k + 1.0) + k * std::log(p) +
                    (n - k) * std::log1p(-p));
  return sum;
}

/// The p at which a tail that rises with p reaches `target`.
template <class Tail>
double solve(Tail tail, double target) {
  double low = 1e-12, high = 1 - 1e-12;
  for (int i = 0; i < 200; ++i) (tail((low + high) / 2) < target ? low : high) = (low + high) / 2;
  return (low + high) / 2;
}

}  // namespace

TEST_CASE("limits of a proportion are the published ones", "[reference]") {
  // From memory: Newcombe RG (1998). Statistics in Medicine 17:857-872, table I, methods 3
  // (score) and 5 (Clopper-Pearson); tolerance half a unit of the last digit.
  struct Row {
    double x, n, wilson_lower, wilson_upper, exact_lower, exact_upper;
  };
  for (const Row& row : {Row{81, 263, .2553, .3662, .2527, .3676}, Row{15, 148, .0624, .1605, .0578, .1617},
                         Row{0, 20, 0, .1611, 0, .1684}, Row{1, 29, .0061, .1718, .0009, .1776}}) {
    INFO(row.x << " of " << row.n);
    const auto score = wilson(row.x, row.n), exact = clopper_pearson(row.x, row.n);
    REQUIRE((score && exact));
    CHECK(score->lower == Approx(row.wilson_lower).margin(5e-5));
    CHECK(score->upper == Approx(row.wilson_upper).margin(5e-5));
    CHECK(exact->lower == Approx(row.exact_lower).margin(5e-5));
    CHECK(exact->upper == Approx(row.exact_upper).margin(5e-5));
  }
}

TEST_CASE("one-sided limits take real counts", "[reference]") {
  // R 4.2.2: qbeta(.05, 30.4, 9.3), qbeta(.95, 31.4, 8.3); the score formula typed into R.
  CHECK(*clopper_pearson_lower(30.4, 38.7, 0.95) == Approx(0.6491923792383675).epsilon(1e-11));
  CHECK(*clopper_pearson_upper(30.4, 38.7, 0.95) == Approx(0.886884490994461).epsilon(1e-11));
  CHECK(*wilson_lower(30.4, 38.7, 0.95) == Approx(0.6603054465595629).epsilon(1e-11));
  CHECK(*wilson_upper(30.4, 38.7, 0.95) == Approx(0.8734395101876257).epsilon(1e-11));
}

TEST_CASE("exact limits agree with binomial sums solved by bisection", "[property]") {
  for (const int n : {1, 5, 13, 40})
    for (int x = 0; x <= n; ++x) {
      INFO(x << " of " << n);
      const auto limits = clopper_pearson(x, n, 0.9);
      REQUIRE(limits);
      const double lower = x == 0 ? 0.0 : solve([&](double p) { return upper_tail(x, n, p); }, 0.05);
      const double upper = x == n ? 1.0 : solve([&](double p) { return upper_tail(x + 1, n, p); }, 0.95);
      CHECK(limits->lower == Approx(lower).margin(1e-9));
      CHECK(limits->upper == Approx(upper).margin(1e-9));
    }
}

TEST_CASE("score limits solve the score equation", "[property]") {
  const double z = *normal_quantile(0.975);
  for (const double x : {1.0, 7.5, 19.0})
    for (const double limit : {wilson(x, 20)->lower, wilson(x, 20)->upper})
      CHECK(std::abs(x / 20 - limit) == Approx(z * std::sqrt(limit * (1 - limit) / 20)).epsilon(1e-10));
}

TEST_CASE("failures have the mirrored limits of successes", "[property]") {
  for (const double x : {0.0, 0.3, 4.0, 11.9, 12.0}) {
    CHECK(wilson(x, 12)->lower == Approx(1 - wilson(12 - x, 12)->upper).margin(1e-13));
    CHECK(clopper_pearson(x, 12)->lower == Approx(1 - clopper_pearson(12 - x, 12)->upper).margin(1e-13));
  }
}

TEST_CASE("none and all have a limit that is exactly 0 or 1", "[edge]") {
  CHECK(wilson(0, 9)->lower == 0.0);
  CHECK(wilson(9, 9)->upper == 1.0);
  CHECK(clopper_pearson(0, 9)->lower == 0.0);
  CHECK(clopper_pearson(9, 9)->upper == 1.0);
}

TEST_CASE("no trial, too many successes and no confidence are told apart", "[edge]") {
  CHECK(wilson(0, 0).error().code == Errc::undefined);
  CHECK(clopper_pearson_lower(0, 0).error().code == Errc::undefined);
  CHECK(clopper_pearson(5, 4).error().code == Errc::invalid);
  CHECK(wilson_upper(-1, 4).error().code == Errc::invalid);
  CHECK(clopper_pearson_upper(1, 4, 1.0).error().code == Errc::invalid);
  CHECK(wilson(1, 4, 0.0).error().code == Errc::invalid);
}
