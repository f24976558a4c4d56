#include "competency/department.hpp"

#include <algorithm>
#include <set>

#include <catch2/catch.hpp>

namespace evenhand::competency {
namespace {

std::size_t count(const std::vector<SimulatedRater>& raters, const std::string& kind) {
  return static_cast<std::size_t>(std::ranges::count(raters, kind, &SimulatedRater::kind));
}

}  // namespace

TEST_CASE("a department has the kinds that were asked for") {
  const auto raters = invent_department(20, 4);
  REQUIRE(raters.size() == 20);
  CHECK(count(raters, "severe") == 3);
  CHECK(count(raters, "lenient") == 3);
  CHECK(count(raters, "never trained") == 1);
  CHECK(count(raters, abstaining_habit().says) == 1);
  CHECK(count(raters, "sound") == 8);
  std::set<RaterId> ids;
  for (const auto& rater : raters) ids.insert(rater.id);
  CHECK(ids.size() == 20);
}

TEST_CASE("too small a department takes the first kinds", "[edge]") {
  CHECK(invent_department(0, 4).empty());
  const auto two = invent_department(2, 4, {.severe = 1.0});
  CHECK(count(two, "severe") == 2);
}

TEST_CASE("the same seed invents the same department, another one another", "[property]") {
  const auto a = invent_department(12, 4);
  const auto b = invent_department(12, 4);
  const auto c = invent_department(12, 5);
  for (std::size_t r = 0; r < a.size(); ++r) {
    CHECK(a[r].kind == b[r].kind);
    CHECK(a[r].watch.mean == b[r].watch.mean);
  }
  CHECK(std::ranges::any_of(a, [&](const auto& rater) {
    return rater.watch.mean != c[static_cast<std::size_t>(&rater - a.data())].watch.mean;
  }));
}

}  // namespace evenhand::competency
