#include "stats/mean_squares.hpp"

#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::stats;

TEST_CASE("two-way mean squares are those of Shrout and Fleiss", "[reference]") {
  // Shrout PE, Fleiss JL (1979). Psychological Bulletin 86:420-428, tables 2 and 3 (printed: 11.24,
  // 6.26, 32.49, 1.02).
  const std::vector<double> table{9, 2, 5, 8, 6, 1, 3, 2, 8, 4, 6, 8, 7, 1, 2, 6, 10, 5, 6, 9, 6, 2, 4, 7};
  const auto squares = two_way_mean_squares(table, 6, 4);
  REQUIRE(squares);
  CHECK(squares->row == Approx(11.24).margin(0.005));
  CHECK(squares->within == Approx(6.26).margin(0.005));
  CHECK(squares->column == Approx(32.49).margin(0.005));
  CHECK(squares->residual == Approx(1.02).margin(0.005));
}

TEST_CASE("the squares of a two-way table add up, whatever its offset", "[property]") {
  base::Random random(32);
  int compared = 0;
  for (int round = 0; round < 100; ++round) {
    const std::size_t n = 2 + random.index(9), k = 2 + random.index(5);
    std::vector<double> table(n * k), far;
    // Multiples of 2^-15 with a spread of 2^-10: exact beside 1e9, and far below its rounding in sums.
    for (double& x : table) x = std::ldexp(std::round(32 * random.normal()), -15);
    for (const double x : table) far.push_back(x + 1e9);
    const auto a = two_way_mean_squares(table, n, k), b = two_way_mean_squares(far, n, k);
    REQUIRE((a && b));
    // Chance may put a mean square below what rounding of 1e9 can make; there it is 0.
    compared += b->row > 0 && b->column > 0 && b->residual > 0 ? 1 : 0;
    if (b->row > 0) CHECK(b->row == Approx(a->row).epsilon(1e-12));
    if (b->column > 0) CHECK(b->column == Approx(a->column).epsilon(1e-12));
    if (b->residual > 0) CHECK(b->residual == Approx(a->residual).epsilon(1e-12));
    long double mean = 0, total = 0;
    for (const double x : table) mean += static_cast<long double>(x) / static_cast<long double>(n * k);
    for (const double x : table) total += (x - mean) * (x - mean);
    const auto rows = static_cast<double>(n), columns = static_cast<double>(k);
    CHECK(a->row * (rows - 1) + a->column * (columns - 1) + a->residual * (rows - 1) * (columns - 1) ==
          Approx(static_cast<double>(total)).epsilon(1e-12));
    CHECK(a->row * (rows - 1) + a->within * rows * (columns - 1) ==
          Approx(static_cast<double>(total)).epsilon(1e-12));
  }
  CHECK(compared >= 90);
}

TEST_CASE("rows and columns that add leave a residual of exactly zero", "[edge]") {
  for (const double offset : {0.0, 1e9})
    for (const double step : {1.0, 0.1}) {
      std::vector<double> table;
      for (int i = 0; i < 5; ++i)
        for (int j = 0; j < 3; ++j) table.push_back(offset + step * (i + 2 * j));
      const auto squares = two_way_mean_squares(table, 5, 3);
      REQUIRE(squares);
      CHECK(squares->residual == 0.0);
      CHECK(squares->row > 0.0);
      CHECK(squares->column > 0.0);
    }
}

TEST_CASE("a residual a billion times smaller than the spread of the rows is kept", "[edge]") {
  base::Random random(33);
  std::vector<double> noise(24), table(24);
  for (std::size_t i = 0; i < 24; ++i) {
    noise[i] = 1e-9 * random.normal();
    table[i] = static_cast<double>(i / 4) + noise[i];
  }
  const auto with_rows = two_way_mean_squares(table, 6, 4), alone = two_way_mean_squares(noise, 6, 4);
  REQUIRE((with_rows && alone));
  CHECK(with_rows->residual == Approx(alone->residual).epsilon(1e-5));
}

TEST_CASE("one-way mean squares of groups of different sizes", "[reference]") {
  // By hand: groups {1, 3}, {5}, {6, 8, 10}; mean 5.5. Between: 2*3.5^2 + 0.5^2 + 3*2.5^2 = 43.5 on
  // 2 df; within: 2 + 0 + 8 = 10 on 3 df; k0 = (6 - 14/6) / 2.
  const std::vector<double> values{1, 3, 5, 6, 8, 10};
  const std::vector<std::size_t> sizes{2, 1, 0, 3};
  const auto squares = one_way_mean_squares(values, sizes);
  REQUIRE(squares);
  CHECK(squares->groups == 3);
  CHECK_FALSE(squares->balanced);
  CHECK(squares->between == Approx(43.5 / 2));
  CHECK(squares->within == Approx(10.0 / 3));
  CHECK(squares->k0 == Approx(11.0 / 6));
}

TEST_CASE("equal group sizes give the two-way within and k0 itself", "[property]") {
  const std::vector<double> table{9, 2, 5, 8, 6, 1, 3, 2, 8, 4, 6, 8};
  const std::vector<std::size_t> sizes{4, 4, 4};
  const auto one = one_way_mean_squares(table, sizes);
  const auto two = two_way_mean_squares(table, 3, 4);
  REQUIRE((one && two));
  CHECK(one->balanced);
  CHECK(one->k0 == Approx(4.0));
  CHECK(one->between == Approx(two->row));
  CHECK(one->within == Approx(two->within));
}

TEST_CASE("too little for an analysis of variance says so", "[edge]") {
  const std::vector<double> four{1, 2, 3, 4};
  CHECK(two_way_mean_squares(four, 4, 1).error().code == Errc::undefined);
  CHECK(two_way_mean_squares(four, 1, 4).error().code == Errc::undefined);
  CHECK(two_way_mean_squares({}, 0, 0).error().code == Errc::undefined);
  CHECK(two_way_mean_squares(four, 3, 2).error().code == Errc::invalid);
  const std::vector<std::size_t> one_group{4}, singles{1, 1, 1, 1}, wrong{2, 1};
  CHECK(one_way_mean_squares(four, one_group).error().code == Errc::undefined);
  CHECK(one_way_mean_squares(four, singles).error().code == Errc::undefined);
  CHECK(one_way_mean_squares(four, wrong).error().code == Errc::invalid);
}
