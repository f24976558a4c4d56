// Reference values stand in tests/reference/expected.csv and are checked from tests/agreement.
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "stats/correlation.hpp"
#include "stats/ranks.hpp"

using namespace evenhand;
using namespace evenhand::stats;

namespace {

bool says(const Result<double>& result, Errc code, const std::string& words) {
  if (result) return false;
  INFO(result.error().message);
  return result.error().code == code && result.error().message.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("correlations need pairs and a spread", "[edge]") {
  const std::vector<double> none, one{1}, two{1, 2}, flat{3, 3};
  for (const auto correlation : {pearson, spearman, kendall_tau_b}) {
    CHECK(says(correlation(one, two), Errc::invalid, "1 values beside 2"));
    CHECK(says(correlation(none, none), Errc::undefined, "fewer than two"));
    CHECK(says(correlation(one, one), Errc::undefined, "fewer than two"));
    CHECK(says(correlation(flat, two), Errc::undefined, "all values of a column are equal"));
    CHECK(says(correlation(two, flat), Errc::undefined, "all values of a column are equal"));
    CHECK(*correlation(two, two) == Approx(1.0));
  }
}

TEST_CASE("equal values share their mean rank, rounding aside", "[property]") {
  const std::vector<double> values{0.3, 1.0, 0.1 + 0.2, -5.0};
  const Ranks result = ranks(values);
  CHECK(result.rank == std::vector<double>{2.5, 4.0, 2.5, 1.0});
  CHECK(result.tie_sum == 6.0);
}

TEST_CASE("correlations of a column of 1e9 and noise keep their digits", "[property]") {
  std::vector<double> x, y, far_x, far_y;
  for (int i = 0; i < 200; ++i) {
    x.push_back((i * 37 % 101) / 64.0);
    y.push_back((i * 37 % 101 + i * 11 % 53) / 64.0);
    far_x.push_back(1e9 + x.back());
    far_y.push_back(1e9 + y.back());
  }
  CHECK(*pearson(far_x, far_y) == Approx(*pearson(x, y)).epsilon(1e-12));
  CHECK(*spearman(far_x, far_y) == *spearman(x, y));
  CHECK(*kendall_tau_b(far_x, far_y) == *kendall_tau_b(x, y));
}
