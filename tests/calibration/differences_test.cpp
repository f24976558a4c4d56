#include <cmath>

#include <catch2/catch.hpp>

#include "calibration/calibration.hpp"
#include "calibration/support.hpp"

namespace evenhand::calibration {
namespace {

using test::need;
using test::resolved;
using test::row;

/// Three cases of one item, keys 2, 2 and 3; r1 and r2 are off by 0 and 1, -1 and 1, 0 and -1.
std::vector<scores::Score> three_cases() {
  return {row("", "key", "a", "x", "2"), row("", "r1", "a", "x", "2"), row("", "r2", "a", "x", "3"),
          row("", "key", "b", "x", "2"), row("", "r1", "b", "x", "1"), row("", "r2", "b", "x", "3"),
          row("", "key", "c", "x", "3"), row("", "r1", "c", "x", "3"), row("", "r2", "c", "x", "2")};
}

TEST_CASE("differences of totals from the key follow by hand", "[reference]") {
  const auto found = need(calibrate(resolved(three_cases()), 0)).differences;
  CHECK(found.cases == 3);
  CHECK(found.totals == 6);
  CHECK(*found.mean.estimate == Approx(0.0).margin(1e-12));
  // Squares: 0 1 1 1 0 1, mean 0, divisor 5.
  CHECK(*found.sd == Approx(std::sqrt(4.0 / 5.0)));
  CHECK(*found.lower.estimate == Approx(-1.96 * std::sqrt(0.8)));
  CHECK(*found.upper.estimate == Approx(1.96 * std::sqrt(0.8)));
  // Without a: -1 1 0 -1, mean -1/4, SD sqrt(2.75/3); without b: 0 1 0 -1, 0, sqrt(2/3); without c:
  // 0 1 -1 1, 1/4, sqrt(2.75/3). Jackknife: sqrt(2/3 sum of squares) times t(.975; 2) = 4.302653.
  const double a = -0.25 + 1.96 * std::sqrt(2.75 / 3.0), b = 1.96 * std::sqrt(2.0 / 3.0), c = a + 0.5;
  const double mean = (a + b + c) / 3.0;
  const double squares = (a - mean) * (a - mean) + (b - mean) * (b - mean) + (c - mean) * (c - mean);
  CHECK(*found.upper.upper - *found.upper.estimate ==
        Approx(4.302652729696 * std::sqrt(2.0 / 3.0 * squares)));
  REQUIRE(found.by_total.size() == 2);
  CHECK(found.by_total[0].cases == 2);
  CHECK(found.by_total[0].totals == 4);
  CHECK(found.by_total[0].mean == Approx(0.25));
  CHECK(found.by_total[1].lowest == -1.0);
  CHECK(found.by_total[1].highest == 0.0);
  REQUIRE(found.points.size() == 5);
  CHECK(found.points[2].difference == 1.0);
  CHECK(found.points[2].times == 2);
}

TEST_CASE("a rater's mean error on an item is that over settled keys, with their number", "[reference]") {
  const KeyFactsOf gray_c = [](const CaseId& id, const ItemId&) -> std::optional<KeyFacts> {
    return KeyFacts{.kind = id == CaseId("c") ? KeyKind::gray : KeyKind::settled};
  };
  const auto report = need(calibrate(resolved(three_cases()), 0, gray_c));
  REQUIRE(report.error_by_item.size() == 2);
  CHECK(report.error_by_item[0][0].n == 2);
  CHECK(*report.error_by_item[0][0].mean == Approx(-0.5));
  CHECK(*report.error_by_item[1][0].mean == Approx(1.0));
}

TEST_CASE("without a key there is no difference from it, and the reason is told", "[edge]") {
  auto rows = three_cases();
  std::erase_if(rows, [](const auto& each) { return each.rater == RaterId("key"); });
  const auto report = need(calibrate(resolved(rows), 0));
  CHECK(report.differences.points.empty());
  CHECK(report.differences.sd.why() == "there is no key");
  CHECK(report.error_by_item[0][0].n == 0);
  CHECK_FALSE(report.error_by_item[0][0].mean);
}

}  // namespace
}  // namespace evenhand::calibration
