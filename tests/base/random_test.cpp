#include "base/random.hpp"

#include <cmath>
#include <set>
#include <vector>

#include <catch2/catch.hpp>

using evenhand::base::Random;

TEST_CASE("the same seed and stream give the same numbers") {
  Random a(7, 3), b(7, 3), other_stream(7, 4), other_seed(8, 3);
  const double first = a.uniform();
  CHECK(first == b.uniform());
  CHECK(first != other_stream.uniform());
  CHECK(first != other_seed.uniform());
}

TEST_CASE("draws have the moments of their distribution", "[property]") {
  Random random(20260901);
  const int n = 200000;
  double sum = 0, squares = 0, uniform = 0;
  for (int i = 0; i < n; ++i) {
    const double x = random.normal(2.0, 3.0);
    sum += x;
    squares += (x - 2.0) * (x - 2.0);
    const double u = random.uniform();
    REQUIRE((u >= 0.0 && u < 1.0));
    uniform += u;
  }
  // Five standard errors: 3/sqrt(n), 9 sqrt(2/n), 1/sqrt(12 n).
  CHECK(sum / n == Approx(2.0).margin(5 * 3 / std::sqrt(n)));
  CHECK(squares / n == Approx(9.0).margin(5 * 9 * std::sqrt(2.0 / n)));
  CHECK(uniform / n == Approx(0.5).margin(5 / std::sqrt(12.0 * n)));
}

TEST_CASE("an index is below its bound and every index occurs") {
  Random random(1);
  std::set<std::size_t> seen;
  for (int i = 0; i < 1000; ++i) {
    const std::size_t k = random.index(7);
    REQUIRE(k < 7);
    seen.insert(k);
  }
  CHECK(seen.size() == 7);
  CHECK(random.index(1) == 0);
}

TEST_CASE("a shuffle keeps every value") {
  Random random(5);
  std::vector<int> values{1, 2, 3, 4, 5, 6};
  random.shuffle(std::span<int>(values));
  CHECK(std::multiset<int>(values.begin(), values.end()) == std::multiset<int>{1, 2, 3, 4, 5, 6});
}
