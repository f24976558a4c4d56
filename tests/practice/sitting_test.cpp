#include "practice/sitting.hpp"

#include <algorithm>

#include <catch2/catch.hpp>

using namespace evenhand;
using namespace evenhand::practice;

TEST_CASE("a set is walked case by case, items in its order") {
  cases::CaseSet set;
  set.entries = {{CaseId("a"), {ItemId("1"), ItemId("4")}}, {CaseId("b"), {ItemId("2")}}};
  const auto steps = steps_of(set);
  REQUIRE(steps.size() == 3);
  CHECK(steps[1].item.text() == "4");
  CHECK(steps[1].item_number == 2);
  CHECK(steps[1].items == 2);
  CHECK(steps[2].case_number == 2);
  CHECK(next_step(steps, {true, false, true}) == 1U);
  CHECK_FALSE(next_step(steps, {true, true, true}));
}

TEST_CASE("a seed shuffles the cases and nothing else, the same way each time", "[property]") {
  cases::CaseSet set;
  for (int i = 0; i < 9; ++i)
    set.entries.push_back({CaseId("c" + std::to_string(i)), {ItemId("1"), ItemId("4")}});
  const auto plain = steps_of(set), shuffled = steps_of(set, 7);
  CHECK(shuffled == steps_of(set, 7));
  CHECK(shuffled != steps_of(set, 8));
  std::vector<std::string> before, after;
  for (std::size_t i = 0; i < plain.size(); ++i) {
    before.push_back(plain[i].case_id.text() + plain[i].item.text());
    after.push_back(shuffled[i].case_id.text() + shuffled[i].item.text());
    CHECK(shuffled[i].case_number == plain[i].case_number);  // counted as they come
    CHECK(shuffled[i].item == plain[i].item);                // items keep their order
  }
  CHECK(before != after);
  std::ranges::sort(after);
  CHECK(before == after);
}

TEST_CASE("a sitting is summed up") {
  std::vector<Scored> items(5);
  items[0] = {.item = ItemId("1"), .levels_off = 0, .watch_errors = {0.1, 0.3}, .sureness = 0.9};
  items[1] = {.item = ItemId("2"),
              .levels_off = -2,
              .slips = {Slip::saw_it_wrong},
              .watch_errors = {0.5},
              .sureness = 0.5};
  items[2] = {.item = ItemId("2"), .levels_off = 1, .slips = {Slip::saw_it_wrong, Slip::gray_zone}};
  items[3] = {.item = ItemId("3"), .abstained = true};
  items[4] = {.item = ItemId("5")};  // a measured item: no level to compare
  const auto s = summarize(items);
  CHECK(s.scored == 4);
  CHECK(s.right == 1);
  CHECK(s.abstained == 1);
  CHECK(*s.mean_error == Approx(-1.0 / 3));
  CHECK(*s.watch_mean == Approx(0.3));
  CHECK(*s.watch_sd == Approx(0.2));  // of 0.1, 0.3 and 0.5
  CHECK(s.watch_readings == 3);
  REQUIRE(s.work_on.size() == 2);
  CHECK(s.work_on[0].item.text() == "2");
  CHECK(s.work_on[0].missed == 2);
  CHECK(s.slips == std::vector<std::pair<Slip, std::size_t>>{{Slip::saw_it_wrong, 2}, {Slip::gray_zone, 1}});
  CHECK(*s.sure_when_right == 0.9);
  CHECK(*s.sure_when_wrong == 0.5);
}

TEST_CASE("items without a level are counted by themselves, and a miss across a limit by its name") {
  std::vector<Scored> items(4);
  items[0] = {.item = ItemId("1"), .same_status = true};
  items[1] = {.item = ItemId("2"), .same_status = false};
  items[2] = {.item = ItemId("3"), .levels_off = -1, .across_limit = true};
  items[3] = {.item = ItemId("3"), .levels_off = 0};
  const auto s = summarize(items);
  CHECK(s.scored == 2);
  CHECK(s.right == 1);
  CHECK(s.across_limit == 1);
  CHECK(s.unscored == 2);
  CHECK(s.unscored_right == 1);
  REQUIRE(s.work_on.size() == 2);
  CHECK(s.work_on[0].item.text() == "2");
}

TEST_CASE("an empty sitting has no means", "[edge]") {
  const auto s = summarize({});
  CHECK_FALSE(s.mean_error);
  CHECK_FALSE(s.watch_mean);
  CHECK(s.work_on.empty());
}
