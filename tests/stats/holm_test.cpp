#include "stats/holm.hpp"

#include <vector>

#include <catch2/catch.hpp>

namespace evenhand::stats {

// R 4.2.2, p.adjust(c(.01, .04, .03, .005), "holm"): .03 .06 .06 .02
TEST_CASE("holm gives what R gives", "[reference]") {
  const std::vector<double> p{0.01, 0.04, 0.03, 0.005};
  const auto adjusted = holm(p);
  const std::vector<double> expected{0.03, 0.06, 0.06, 0.02};
  for (std::size_t i = 0; i < p.size(); ++i) CHECK(adjusted[i] == Approx(expected[i]).epsilon(1e-12));
}

TEST_CASE("holm never lowers a p value, keeps their order and stays at most 1", "[property]") {
  const std::vector<double> p{0.7, 0.2, 0.2, 0.0001, 1.0, 0.05};
  const auto adjusted = holm(p);
  for (std::size_t i = 0; i < p.size(); ++i) {
    CHECK(adjusted[i] >= p[i]);
    CHECK(adjusted[i] <= 1.0);
    for (std::size_t j = 0; j < p.size(); ++j)
      if (p[i] < p[j]) CHECK(adjusted[i] <= adjusted[j]);
  }
  CHECK(adjusted[1] == adjusted[2]);
}

TEST_CASE("holm of one is that one, of none none", "[edge]") {
  const std::vector<double> one{0.3};
  CHECK(holm(one) == one);
  CHECK(holm({}).empty());
}

}  // namespace evenhand::stats
