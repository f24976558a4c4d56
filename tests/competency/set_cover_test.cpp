#include "competency/set_cover.hpp"

#include <catch2/catch.hpp>

#include "competency/support.hpp"

namespace evenhand::competency {
namespace {

std::vector<ItemId> items(std::initializer_list<const char*> ids) {
  std::vector<ItemId> out;
  for (const char* id : ids) out.emplace_back(id);
  return out;
}

Standard two_items() {
  Standard standard;
  standard.items_per_case = 2;
  standard.looks = {2, 3};
  return standard;
}

}  // namespace

TEST_CASE("a set's cover counts case-items by level, and those that decide nothing by their reason") {
  auto key = test::blank_key(2);
  test::add_case(key, "a", "04");
  test::add_case(key, "b", "0r");
  test::add_case(key, "c", "2s", 1);  // one second reader is too few
  key.cases.at(CaseId("a")).keys[1]->decidable = Decidable::key_borderline;
  key.cases.at(CaseId("b")).keys[0]->decidable = Decidable::key_gray;
  key.cases.at(CaseId("c")).typical = true;
  const std::vector<cases::SetEntry> entries{
      {CaseId("a"), items({"1", "2"})}, {CaseId("b"), items({"1", "2"})}, {CaseId("c"), items({"1"})}};
  const auto cover = cover_of(entries, key, two_items());
  CHECK(cover.cases == 3);
  CHECK(cover.scores == 5);
  CHECK(cover.decides == 1);
  CHECK(cover.left_out == std::vector<LeftOut>{{Decidable::key_is_status, 1},
                                               {Decidable::key_gray, 1},
                                               {Decidable::key_borderline, 1},
                                               {Decidable::key_unconfirmed, 1}});
  REQUIRE(cover.items.size() == 2);
  CHECK(cover.items[0].shown == 3);
  CHECK(cover.items[0].levels[0] == LevelCover{.keys = 2, .decides = 1, .gray = 1});
  CHECK(cover.items[0].levels[2] == LevelCover{.keys = 1, .unconfirmed = 1});
  CHECK(cover.items[1].levels[4] == LevelCover{.keys = 1, .borderline = 1});
  CHECK(cover.items[1].without_level == 1);
  CHECK(cover.as_large == 2);
  CHECK(cover.counting_cases == 2);  // nothing of b counts
  CHECK(cover.looks == 1);
  CHECK(cover.fewest == 2);
  CHECK(cover.most == 3);
  // What would count if it were confirmed is in the mix.
  CHECK(cover.mix.keys == 2);
  CHECK(cover.mix.typical == 1);
  CHECK(cover.mix.too_many_typical);
}

TEST_CASE("every case-item of a set is either held against a rater or left out for one reason") {
  auto key = test::blank_key(3);
  const std::vector<std::string> written{"012", "34r", "s20", "444", "1-3"};
  std::vector<cases::SetEntry> entries;
  for (std::size_t i = 0; i < written.size(); ++i) {
    const auto id = std::string(1, static_cast<char>('a' + i));
    test::add_case(key, id, written[i], i);
    entries.push_back({CaseId(id), items({"1", "2", "3"})});
  }
  const auto cover = cover_of(entries, key, Standard{});
  std::size_t out = 0, shown = 0, keys = 0, without = 0;
  for (const auto& one : cover.left_out) out += one.scores;
  for (const auto& item : cover.items) {
    shown += item.shown;
    without += item.without_level;
    for (const auto& level : item.levels) keys += level.keys;
  }
  CHECK(cover.decides + out == cover.scores);
  CHECK(shown == cover.scores);
  CHECK(keys + without == cover.scores);
  CHECK(cover.scores == 14);  // one key is not there
}

TEST_CASE("a set without cases, or of cases that are not there, covers nothing") {
  auto key = test::blank_key(1);
  const std::vector<cases::SetEntry> gone{{CaseId("gone"), items({"1"})}};
  for (const auto& cover : {cover_of({}, key, Standard{}), cover_of(gone, key, Standard{})}) {
    CHECK(cover.cases == 0);
    CHECK(cover.scores == 0);
    CHECK(cover.looks == 0);
    CHECK(cover.fewest == 0);
    CHECK_FALSE(cover.mix.comparable);
  }
}

}  // namespace evenhand::competency
