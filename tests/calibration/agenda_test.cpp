#include "calibration/agenda.hpp"

#include <catch2/catch.hpp>

#include "calibration/support.hpp"

namespace evenhand::calibration {
namespace {

using test::resolved;
using test::row;

/// One case, two items: on `hold` raters sit at both ends, on `rise` one of four is one level off.
std::vector<scores::Score> split_case() {
  return {row("", "key", "a", "hold", "4"), row("", "key", "a", "rise", "2"), row("", "r1", "a", "hold", "4"),
          row("", "r2", "a", "hold", "4"),  row("", "r3", "a", "hold", "0"),  row("", "r4", "a", "hold", "0"),
          row("", "r1", "a", "rise", "2"),  row("", "r2", "a", "rise", "2"),  row("", "r3", "a", "rise", "2"),
          row("", "r4", "a", "rise", "1")};
}

KeyFactsOf open_hold(KeyKind kind) {
  return [kind](const CaseId&, const ItemId& item) -> std::optional<KeyFacts> {
    if (item != ItemId("hold")) return KeyFacts{};
    return KeyFacts{.kind = kind,
                    .meet = {0, 4},
                    .criteria = {{0, "cannot hold"}, {4, "holds alone"}},
                    .zone = "held by the wall",
                    .ruling = kind == KeyKind::unruled ? "" : "w-1"};
  };
}

TEST_CASE("the agenda begins where raters sit furthest apart, and says who gave what", "[reference]") {
  const auto agenda = agenda_of(resolved(split_case())[0]);
  REQUIRE(agenda.points.size() == 2);
  CHECK(agenda.case_items == 2);
  CHECK(agenda.all_agree == 0);
  const AgendaPoint& first = agenda.points[0];
  CHECK(first.item == 0);
  CHECK(first.raters == 4);
  // By hand: of 6 pairs 4 are 4 apart; of 6 pairs 3 are 1 apart.
  CHECK(*first.spread == Approx(4.0 * 4.0 / 6.0));
  CHECK(*agenda.points[1].spread == Approx(3.0 / 6.0));
  CHECK(first.key == 4);
  CHECK(*first.exact == Approx(0.5));
  REQUIRE(first.given.size() == 2);
  CHECK(first.given[0].category == 0);
  CHECK(first.given[0].raters == std::vector{RaterId("r3"), RaterId("r4")});
  CHECK(first.given[1].raters == std::vector{RaterId("r1"), RaterId("r2")});
}

TEST_CASE("who gave no score is listed, and where all agree there is nothing to talk about", "[edge]") {
  auto rows = split_case();
  rows.push_back(row("", "r5", "a", "hold", "cannot-rate"));
  rows.push_back(row("", "r5", "a", "rise", "2"));
  rows.push_back(row("", "r1", "b", "hold", "3"));
  rows.push_back(row("", "r2", "b", "hold", "3"));
  const auto agenda = agenda_of(resolved(rows)[0]);
  CHECK(agenda.case_items == 3);
  CHECK(agenda.all_agree == 1);
  REQUIRE(agenda.points.size() == 2);
  CHECK(agenda.points[0].abstained == std::vector{RaterId("r5")});
  CHECK(agenda.points[0].raters == 4);
  CHECK(agenda_of(resolved(rows)[0], {}, 1).points.size() == 1);
}

TEST_CASE("an open zone needs a ruling when raters split and the department has none", "[reference]") {
  const auto rounds = resolved(split_case());
  const auto open = agenda_of(rounds[0], open_hold(KeyKind::gray));
  REQUIRE(open.zones.size() == 1);
  CHECK(open.zones[0].needs_ruling);
  CHECK(open.zones[0].ruling == "w-1");
  CHECK(open.zones[0].cases == std::vector{CaseId("a")});
  CHECK(open.zones[0].given == std::vector<std::size_t>{2, 0, 0, 0, 2});
  CHECK(*open.zones[0].exact == Approx(0.5));
  CHECK(open.zones[0].criteria.size() == 2);
  CHECK(open.points[0].facts->kind == KeyKind::gray);
  CHECK_FALSE(agenda_of(rounds[0], open_hold(KeyKind::gray_ruled)).zones[0].needs_ruling);
  CHECK(agenda_of(rounds[0], open_hold(KeyKind::unruled)).zones[0].needs_ruling);
}

TEST_CASE("one who goes another way, of three or four, asks for no ruling", "[edge]") {
  for (const int raters : {2, 3, 4}) {
    std::vector<scores::Score> rows{row("", "key", "a", "hold", "4")};
    for (int r = 1; r <= raters; ++r)
      rows.push_back(row("", "r" + std::to_string(r), "a", "hold", r == 1 ? "0" : "4"));
    CHECK_FALSE(agenda_of(resolved(rows)[0], open_hold(KeyKind::gray)).zones[0].needs_ruling);
  }
}

TEST_CASE("an open zone where nearly all agree needs no ruling", "[edge]") {
  std::vector<scores::Score> rows{row("", "key", "a", "hold", "4")};
  for (int r = 1; r <= 5; ++r)
    rows.push_back(row("", "r" + std::to_string(r), "a", "hold", r == 1 ? "0" : "4"));
  CHECK_FALSE(agenda_of(resolved(rows)[0], open_hold(KeyKind::gray)).zones[0].needs_ruling);
  rows.push_back(row("", "r6", "a", "hold", "0"));
  CHECK(agenda_of(resolved(rows)[0], open_hold(KeyKind::gray)).zones[0].needs_ruling);
}

}  // namespace
}  // namespace evenhand::calibration
