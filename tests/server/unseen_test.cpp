// What a check decides by: unseen cases, each as it was asked when it counts.

#include <catch2/catch.hpp>

#include "competency/library_cases.hpp"
#include "competency/results.hpp"
#include "server/boards.hpp"
#include "server/ward.hpp"
#include "store/checked_scores.hpp"

using namespace evenhand;
using namespace evenhand::test;

TEST_CASE("other items that a later sitting asks of a case are none that were left blank") {
  auto library = shipped_library();
  auto& first = library.sets["first"];
  first.entries = {{CaseId("pb-lark"), {ItemId("1"), ItemId("2"), ItemId("3")}}};
  auto& second = library.sets["second"];
  second.entries = {{CaseId("pb-lark"), {ItemId("4"), ItemId("6")}}};
  store::Checked checked;
  std::vector<scores::Score> rows;
  const auto add = [&](const std::string& sitting, const std::string& item, int minute) {
    auto& row = rows.emplace_back();
    row.rater = RaterId("ann");
    row.sitting = SittingId(sitting);
    row.scored_case = CaseId("pb-lark");
    row.item = ItemId(item);
    row.value = "3";
    row.at = base::Time(std::chrono::minutes(minute));
  };
  for (const std::string item : {"1", "2"}) add("a", item, 1);  // item 3 was left blank
  for (const std::string item : {"4", "6"}) add("b", item, 9);
  checked.table = scores::table_of(rows).value();
  for (const std::string id : {"a", "b"}) {
    auto& sitting = checked.sittings.emplace_back();
    sitting.id = SittingId(id);
    sitting.set = SetId(id == "a" ? "first" : "second");
  }
  const auto due = server::due_of(checked, library);
  const auto key = competency::answer_key_of(library, InstrumentId("pediatric-balance")).value();
  const auto results = competency::results_of(checked.table, key, {.due = due}).value();
  REQUIRE(results.size() == 1);
  REQUIRE(results[0].cases.size() == 1);
  std::set<std::string> asked;
  for (const auto& one : results[0].cases[0].items) asked.insert(key.items[one.item].id.text());
  CHECK(asked == std::set<std::string>{"1", "2", "3"});
  CHECK(results[0].repeats == 2);
}
