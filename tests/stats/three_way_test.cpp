#include "stats/three_way.hpp"

#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::stats;

namespace {

std::vector<double> draw(std::size_t n, double mean = 0.0) {
  base::Random random(3);
  std::vector<double> x;
  for (std::size_t i = 0; i < n; ++i) x.push_back(mean + random.normal());
  return x;
}

}  // namespace

TEST_CASE("sums of squares of three factors add up to the total", "[property]") {
  const auto x = draw(4 * 3 * 5);
  const auto s = three_way_mean_squares(x, {4, 3, 5});
  REQUIRE(s);
  double parts = 0.0, df = 0.0, mean = 0.0, total = 0.0;
  for (std::size_t t = 0; t < three_way_terms; ++t) {
    parts += s->square[t] * s->df[t];
    df += s->df[t];
  }
  for (const double v : x) mean += v / 60.0;
  for (const double v : x) total += (v - mean) * (v - mean);
  CHECK(parts == Approx(total).epsilon(1e-12));
  CHECK(df == 59.0);
}

TEST_CASE("effects built into the cells come back as they were", "[property]") {
  // a: -1, 1; b: -2, 0, 2; a:b: +-0.5 pattern on b; nothing else.
  std::vector<double> x;
  for (int a = 0; a < 2; ++a)
    for (int b = 0; b < 3; ++b)
      for (int c = 0; c < 4; ++c)
        x.push_back((2.0 * a - 1.0) + 2.0 * (b - 1) + 0.5 * (2.0 * a - 1.0) * (b - 1));
  const auto s = three_way_mean_squares(x, {2, 3, 4});
  REQUIRE(s);
  CHECK(s->square[0] == Approx(24.0));             // 24 x 1 / 1
  CHECK(s->square[1] == Approx(8.0 * 8.0 / 2.0));  // 8 x (4 + 0 + 4) / 2
  CHECK(s->square[3] == Approx(2.0));              // 4 x 4 x 0.25 / 2
  CHECK(s->square[2] == 0.0);
  CHECK(s->square[6] == 0.0);
}

TEST_CASE("a huge mean keeps the digits of three-way mean squares", "[property]") {
  const auto near = three_way_mean_squares(draw(60), {4, 3, 5});
  const auto far = three_way_mean_squares(draw(60, 1e9), {4, 3, 5});
  REQUIRE((near && far));
  for (std::size_t t = 0; t < three_way_terms; ++t)
    CHECK(far->square[t] == Approx(near->square[t]).epsilon(1e-5));
}

TEST_CASE("nested sums of squares are crossed ones pooled", "[property]") {
  // object x (inner:outer): inner within outer = inner + inner:outer of the crossed analysis.
  const auto x = draw(5 * 3 * 4);
  const auto nested = nested_mean_squares(x, 5, 3, 4);
  const auto crossed = three_way_mean_squares(x, {5, 3, 4});
  REQUIRE((nested && crossed));
  const auto ss = [&](std::size_t t) { return crossed->square[t] * crossed->df[t]; };
  CHECK(nested->object == Approx(crossed->square[0]));
  CHECK(nested->outer_square == Approx(crossed->square[1]));
  CHECK(nested->inner_square == Approx((ss(2) + ss(5)) / 9.0));
  CHECK(nested->object_outer == Approx(crossed->square[3]));
  CHECK(nested->residual == Approx((ss(4) + ss(6)) / 36.0));
}

TEST_CASE("cells that do not fill the design are refused", "[edge]") {
  const auto x = draw(12);
  CHECK(three_way_mean_squares(x, {2, 2, 2}).error().code == Errc::invalid);
  CHECK(three_way_mean_squares(x, {12, 1, 1}).error().code == Errc::undefined);
  CHECK(nested_mean_squares(x, 2, 2, 2).error().code == Errc::invalid);
  CHECK(nested_mean_squares(x, 6, 2, 1).error().code == Errc::undefined);
}
