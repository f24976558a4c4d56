#include "calibration/changed_decisions.hpp"

#include <algorithm>

#include <fmt/core.h>
#include <catch2/catch.hpp>

#include "calibration/support.hpp"

namespace evenhand::calibration {
namespace {

using competency::AnswerKey;
using competency::Decidable;
using competency::Verdict;
using test::need;
using test::row;

constexpr std::size_t cases = 16, items = 7;

std::string case_name(std::size_t c) { return fmt::format("c{:02}", c); }

AnswerKey keys() {
  AnswerKey answer;
  for (std::size_t i = 0; i < items; ++i)
    answer.items.push_back({.id = ItemId(fmt::format("i{}", i)), .categories = test::five_levels});
  for (std::size_t c = 0; c < cases; ++c) {
    competency::KeyedCase keyed{.id = CaseId(case_name(c)), .second_readers = 2};
    for (std::size_t i = 0; i < items; ++i) keyed.keys.push_back(competency::Key{.category = 3, .says = "3"});
    answer.cases.emplace(keyed.id, std::move(keyed));
  }
  return answer;
}

/// `right` equals every key; `shaky` misses the last item of every case.
scores::ScoreTable scored() {
  std::vector<scores::Score> rows;
  for (const std::string rater : {"right", "shaky"})
    for (std::size_t c = 0; c < cases; ++c)
      for (std::size_t i = 0; i < items; ++i)
        rows.push_back(row("", rater, case_name(c), fmt::format("i{}", i),
                           rater == "shaky" && i + 1 == items ? "2" : "3"));
  return need(scores::table_of(rows));
}

TEST_CASE("the same keys change nobody's decision", "[property]") {
  const auto changes = decisions_that_change(scored(), keys(), keys(), {}, {.second_readers = 2}).value();
  CHECK(changes.keys.empty());
  CHECK(changes.changed.empty());
  CHECK(changes.unchanged == 2);
}

TEST_CASE("a changed key names whose decision would be another one", "[reference]") {
  // Now 2 is right for the last item: `shaky` has no miss left, and the item held back stands out for
  // `right`.
  auto after = keys();
  for (auto& [id, keyed] : after.cases) keyed.keys.back() = competency::Key{.category = 2, .says = "2"};
  const auto changes = decisions_that_change(scored(), keys(), after, {}, {.second_readers = 2}).value();
  CHECK(changes.keys.size() == cases);
  CHECK(changes.keys[0] == ChangedKey{CaseId("c00"), ItemId("i6"), "3", "2"});
  REQUIRE(changes.changed.size() == 2);
  CHECK(changes.changed[0].rater == RaterId("right"));
  CHECK(changes.changed[0].before->verdict == Verdict::ready);
  CHECK(changes.changed[0].after->verdict != Verdict::ready);
  CHECK(changes.changed[0].scores == cases);
  CHECK(changes.changed[1].after->verdict == Verdict::ready);
}

TEST_CASE("who has no decision any more, or has one only then, is named", "[edge]") {
  // Without any case nobody is decided, though all have scores.
  auto none = keys();
  none.cases.clear();
  const auto gone = decisions_that_change(scored(), keys(), none, {}, {.second_readers = 2}).value();
  CHECK(gone.unchanged == 0);
  REQUIRE(gone.changed.size() == 2);
  CHECK(gone.changed[0].before->verdict == Verdict::ready);
  CHECK_FALSE(gone.changed[0].after);
  CHECK(gone.changed[0].scores == cases * items);
  const auto come = decisions_that_change(scored(), none, keys(), {}, {.second_readers = 2}).value();
  REQUIRE(come.changed.size() == 2);
  CHECK_FALSE(come.changed[1].before);
  CHECK(come.changed[1].rater == RaterId("shaky"));
}

TEST_CASE("only scores of the round asked about are decided and counted", "[edge]") {
  std::vector<scores::Score> rows;
  for (const std::string round : {"1", "2"})
    for (std::size_t c = 0; c < cases; ++c)
      for (std::size_t i = 0; i < items; ++i)
        if (round == "1" || c == 0)
          rows.push_back(row(round, "right", case_name(c), fmt::format("i{}", i), "3"));
  const auto table = need(scores::table_of(rows));
  auto after = keys();
  for (auto& [id, keyed] : after.cases) keyed.keys.back() = competency::Key{.category = 2, .says = "2"};
  const auto changes =
      decisions_that_change(table, keys(), after, {}, {.round = RoundId("1"), .second_readers = 2}).value();
  REQUIRE(changes.changed.size() == 1);
  CHECK(changes.changed[0].scores == cases);
  const auto later =
      decisions_that_change(table, keys(), after, {}, {.round = RoundId("2"), .second_readers = 2}).value();
  CHECK(later.unchanged == 1);  // one case reaches no look
}

TEST_CASE("a key that stops to count is a change too, and a case that goes is named", "[edge]") {
  auto after = keys();
  after.cases.at(CaseId("c03")).keys[0]->decidable = Decidable::key_gray;
  after.cases.erase(CaseId("c05"));
  const auto changed = changed_keys(keys(), after);
  REQUIRE(changed.size() == 1 + items);
  CHECK(changed[0].decidable_after == Decidable::key_gray);
  CHECK(changed[0].before == changed[0].after);
  CHECK(changed[1].case_id == CaseId("c05"));
  CHECK(changed[1].after.empty());
}

TEST_CASE("the same standard changes nobody's decision, a stricter one is named with whom it changes",
          "[property]") {
  const competency::Standard as_it_is;
  const auto same = decisions_that_change(scored(), keys(), as_it_is, as_it_is).value();
  CHECK(same.changed.empty());
  CHECK(same.unchanged == 2);
  // `right` is flawless, and ready by the shipped standard. 112 scores have no lower limit of .99.
  auto strict = as_it_is;
  strict.not_acceptable = 0.99;
  strict.competent = 0.995;
  const auto changes = decisions_that_change(scored(), keys(), as_it_is, strict).value();
  CHECK(changes.keys.empty());
  const auto right = std::ranges::find(changes.changed, RaterId("right"), &ChangedDecision::rater);
  REQUIRE(right != changes.changed.end());
  CHECK(right->before->verdict == Verdict::ready);
  CHECK(right->after->verdict == Verdict::more_cases);
  CHECK(changes.changed.size() + changes.unchanged == 2);
}

TEST_CASE("a standard that asks for more second readers takes decisions away", "[edge]") {
  auto more = competency::Standard{};
  more.second_readers = 3;
  const auto changes = decisions_that_change(scored(), keys(), competency::Standard{}, more).value();
  REQUIRE(changes.changed.size() == 2);
  for (const auto& one : changes.changed) {
    CHECK(one.before);
    CHECK_FALSE(one.after);  // no key is confirmed any more, so nothing is decided
  }
  auto levelless = competency::Standard{};
  levelless.looks.clear();
  CHECK_FALSE(decisions_that_change(scored(), keys(), competency::Standard{}, levelless));
}

}  // namespace
}  // namespace evenhand::calibration
