#include "stats/signed_rank.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::stats;

namespace {

/// Two-sided p over every pattern of signs, with mean ranks, one pattern at a time.
double slow_p(const std::vector<double>& d) {
  std::vector<double> rank;
  for (const double a : d) {
    double below = 0, equal = 0;
    for (const double b : d) {
      below += std::abs(b) < std::abs(a) ? 1 : 0;
      equal += std::abs(b) == std::abs(a) ? 1 : 0;
    }
    rank.push_back(below + (equal + 1) / 2);
  }
  const auto sum = [&](auto positive) {
    double v = 0;
    for (std::size_t i = 0; i < d.size(); ++i) v += positive(i) ? rank[i] : 0.0;
    return v;
  };
  const double v = sum([&](std::size_t i) { return d[i] > 0; });
  double low = 0, high = 0;
  const unsigned patterns = 1U << d.size();
  for (unsigned pattern = 0; pattern < patterns; ++pattern) {
    const double s = sum([&](std::size_t i) { return (pattern >> i & 1U) != 0; });
    low += s <= v ? 1 : 0;
    high += s >= v ? 1 : 0;
  }
  return std::min(1.0, 2 * std::min(low, high) / patterns);
}

}  // namespace

TEST_CASE("the signed-rank test gives the published example", "[reference]") {
  // Hollander M, Wolfe DA (1973), table 3.1, depression scores before and after; as printed in the
  // help page of wilcox.test (R 4.2.2): V = 40, one-sided p 0.01953, here doubled.
  const std::vector<double> before{1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30};
  const std::vector<double> after{0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29};
  std::vector<double> d;
  for (std::size_t i = 0; i < before.size(); ++i) d.push_back(before[i] - after[i]);
  const auto result = signed_rank(d);
  REQUIRE(result);
  CHECK(result->v == 40.0);
  CHECK(result->exact);
  CHECK(result->p == Approx(0.0390625).epsilon(1e-14));
}

TEST_CASE("the exact p agrees with counting every pattern of signs, ties or not", "[property]") {
  base::Random random(34);
  for (int round = 0; round < 40; ++round) {
    std::vector<double> d;
    const std::size_t n = 1 + random.index(9);
    for (std::size_t i = 0; i < n; ++i) {
      const double size = round % 2 ? 1.0 + static_cast<double>(random.index(3)) : 1.0 + random.uniform();
      d.push_back(random.chance(0.6) ? size : -size);
    }
    const auto result = signed_rank(d, SignedRankMethod::exact);
    REQUIRE(result);
    CHECK(result->p == Approx(slow_p(d)).epsilon(1e-12));
  }
}

TEST_CASE("signs turned around and another unit change no p", "[property]") {
  base::Random random(35);
  std::vector<double> d, turned, scaled;
  for (int i = 0; i < 60; ++i) {
    d.push_back(std::round(3 * random.normal() + 1));
    turned.push_back(-d.back());
    scaled.push_back(1e-9 * d.back());
  }
  CHECK(signed_rank(turned)->p == Approx(signed_rank(d)->p).epsilon(1e-13));
  CHECK(signed_rank(scaled)->p == Approx(signed_rank(d)->p).epsilon(1e-13));
  CHECK(signed_rank(scaled)->n == signed_rank(d)->n);
}

TEST_CASE("the exact test gives way at fifty differences and at ties") {
  std::vector<double> d;
  for (int i = 1; i <= 49; ++i) d.push_back(i % 3 ? i : -i);
  CHECK(signed_rank(d)->exact);
  d.push_back(50);
  CHECK_FALSE(signed_rank(d)->exact);
  const std::vector<double> tied{1, 2, -2, 3};
  CHECK_FALSE(signed_rank(tied)->exact);
}

TEST_CASE("decimal scores tie in spite of their rounding") {
  const std::vector<double> d{0.3 - 0.2, 0.2 - 0.1, -(0.8 - 0.7), 0.5};
  const auto result = signed_rank(d);
  REQUIRE(result);
  CHECK(result->v == 2.0 + 2.0 + 4.0);
}

TEST_CASE("zeros alone leave nothing to rank", "[edge]") {
  const std::vector<double> zeros(5, 0.0);
  CHECK(signed_rank(zeros).error().code == Errc::undefined);
  CHECK(signed_rank(std::span<const double>()).error().code == Errc::undefined);
  const std::vector<double> some{0, 0, 3};
  CHECK(signed_rank(some)->n == 1);
}
