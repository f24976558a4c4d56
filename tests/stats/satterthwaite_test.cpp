#include "stats/satterthwaite.hpp"

#include <array>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "stats/distributions.hpp"

using namespace evenhand;
using namespace evenhand::stats;

namespace {

/// A mean square with the given expectation: a sum of squared normals, df a whole number.
double draw_square(base::Random& random, double expected, int df) {
  double sum = 0.0;
  for (int i = 0; i < df; ++i) {
    const double z = random.normal();
    sum += z * z;
  }
  return expected * sum / df;
}

}  // namespace

TEST_CASE("limits of a single mean square are the chi-square limits", "[property]") {
  const auto chi = chi_square_limits(2.5, 7.0, 0.95);
  const std::array one{WeightedSquare{1.0, 2.5, 7.0}};
  const auto large = modified_large_sample(one, 0.95);
  REQUIRE((chi && large));
  CHECK(chi->lower == Approx(7.0 * 2.5 / *chi_square_quantile(0.975, 7.0)));
  CHECK(large->lower == Approx(chi->lower).epsilon(1e-12));
  CHECK(large->upper == Approx(chi->upper).epsilon(1e-12));
}

TEST_CASE("limits of a share of two mean squares are the F limits", "[property]") {
  // ICC(3,1) of Shrout & Fleiss 1979, table 4: MS 11.24 (5 df) and 1.02 (15 df), k = 4.
  const double b = 11.241666666666667, e = 1.0194444444444444, k = 4.0;
  const std::array squares{RatioSquare{1.0 / k, 1.0 / k, b, 5.0},
                           RatioSquare{-1.0 / k, 1.0 - 1.0 / k, e, 15.0}};
  const auto limits = share_limits(squares, 0.95);
  REQUIRE(limits);
  const double low = b / e / *f_quantile(0.975, 5.0, 15.0), high = b / e * *f_quantile(0.975, 15.0, 5.0);
  CHECK(limits->lower == Approx((low - 1.0) / (low + k - 1.0)).epsilon(1e-9));
  CHECK(limits->upper == Approx((high - 1.0) / (high + k - 1.0)).epsilon(1e-9));
}

TEST_CASE("the degrees of freedom of one mean square are its own", "[property]") {
  Dense covariance(2, 2);
  covariance(1, 1) = 2.0 * 3.0 * 3.0 / 11.0;
  const std::array weights{0.0, 1.0}, variances{4.0, 3.0};
  CHECK(*satterthwaite_df(weights, variances, covariance) == Approx(11.0));
  CHECK_FALSE(satterthwaite_df(weights, variances, Dense()));
  CHECK_FALSE(satterthwaite_df(weights, std::array{1.0, 0.0}, covariance));
}

TEST_CASE("limits of a sum hold their level where one mean square has few degrees of freedom") {
  // 40 cases, 2 raters who differ a lot: Satterthwaite's limits cover .7 here.
  base::Random random(5);
  const double expected_r = 6.1, expected_e = 0.1, truth = expected_r / 40.0 + expected_e * 39.0 / 40.0;
  int covered = 0, approximate = 0;
  constexpr int trials = 2000;
  for (int t = 0; t < trials; ++t) {
    const double r = draw_square(random, expected_r, 1), e = draw_square(random, expected_e, 39);
    const std::array sum{WeightedSquare{1.0 / 40.0, r, 1.0}, WeightedSquare{39.0 / 40.0, e, 39.0}};
    const auto limits = modified_large_sample(sum, 0.95);
    REQUIRE(limits);
    covered += limits->lower <= truth && truth <= limits->upper;
    const double a = r / 40.0, b = e * 39.0 / 40.0;
    const auto other = chi_square_limits(a + b, (a + b) * (a + b) / (a * a + b * b / 39.0), 0.95);
    approximate += other && other->lower <= truth && truth <= other->upper;
  }
  CHECK(covered > 0.935 * trials);  // Monte Carlo error .005
  CHECK(covered < 0.98 * trials);
  CHECK(approximate < 0.85 * trials);
}

TEST_CASE("limits that do not exist are undefined", "[edge]") {
  CHECK_FALSE(chi_square_limits(0.0, 5.0, 0.95));
  CHECK_FALSE(chi_square_limits(1.0, 0.0, 0.95));
  const std::array none{WeightedSquare{1.0, 1.0, 0.0}};
  CHECK_FALSE(modified_large_sample(none, 0.95));
  const std::array share{RatioSquare{1.0, 1.0, 1.0, 0.0}};
  CHECK_FALSE(share_limits(share, 0.95));
}

TEST_CASE("a share whose cases do not stand out reaches down to 0", "[edge]") {
  const std::array squares{RatioSquare{0.25, 0.25, 0.9, 5.0}, RatioSquare{-0.25, 0.75, 1.0, 15.0}};
  const auto limits = share_limits(squares, 0.95);
  REQUIRE(limits);
  CHECK(limits->lower == 0.0);
  CHECK(limits->upper > 0.2);
}
