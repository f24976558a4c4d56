#include "stats/moments.hpp"

#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::stats;

TEST_CASE("a large offset leaves the digits of the spread", "[reference]") {
  // From memory: the NIST statistical reference data set NumAcc4, 1001 values around 10000000.2:
  // mean 10000000.2, standard deviation 0.1 exactly. The values themselves are rounded to some
  // 1e-9, which bounds what any computation can reach.
  std::vector<double> values{10000000.2};
  for (int i = 0; i < 500; ++i) {
    values.push_back(10000000.1);
    values.push_back(10000000.3);
  }
  const auto result = moments(values);
  REQUIRE(result);
  CHECK(result->mean == Approx(10000000.2).epsilon(1e-15));
  CHECK(*standard_deviation(*result) == Approx(0.1).epsilon(1e-8));
}

TEST_CASE("moments agree with long double sums, far away and tiny", "[property]") {
  base::Random random(31);
  for (const double offset : {0.0, 1e9, -1e12})
    for (const double scale : {1.0, 1e-3, 1e3}) {
      std::vector<double> values;
      for (int i = 0; i < 37; ++i) values.push_back(offset + scale * random.normal());
      long double mean = 0, squares = 0;
      for (const double x : values) mean += static_cast<long double>(x) / 37;
      for (const double x : values) squares += (x - mean) * (x - mean);
      const auto result = moments(values);
      REQUIRE(result);
      CHECK(result->mean == Approx(static_cast<double>(mean)).epsilon(1e-13));
      CHECK(result->squares == Approx(static_cast<double>(squares)).epsilon(1e-9));
    }
}

TEST_CASE("equal values have no squares at all", "[edge]") {
  const std::vector<double> values(9, 0.1);
  CHECK(moments(values)->squares == 0.0);
  CHECK(*standard_deviation(*moments(values)) == 0.0);
}

TEST_CASE("no value has no mean, one value no standard deviation", "[edge]") {
  CHECK(moments(std::span<const double>()).error().code == Errc::undefined);
  const std::vector<double> one{3.0};
  CHECK(moments(one)->mean == 3.0);
  CHECK(standard_deviation(*moments(one)).error().code == Errc::undefined);
}

TEST_CASE("values that are counted have the moments of values written out", "[property]") {
  const std::vector<Counted> counted{{-1.0, 3}, {0.0, 0}, {2.5, 1}, {1e9 + 0.25, 2}};
  const std::vector<double> written{-1.0, -1.0, -1.0, 2.5, 1e9 + 0.25, 1e9 + 0.25};
  const auto a = moments(counted), b = moments(written);
  REQUIRE(a);
  REQUIRE(b);
  CHECK(a->n == b->n);
  CHECK(a->mean == Approx(b->mean).epsilon(1e-14));
  CHECK(a->squares == Approx(b->squares).epsilon(1e-14));
  CHECK_FALSE(moments(std::vector<Counted>{{1.0, 0}}));
}
