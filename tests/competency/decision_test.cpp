#include "competency/decision.hpp"

#include <algorithm>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"

namespace evenhand::competency {
namespace {

/// A half case: items 0 2 4 ... or 1 3 5 ... in turn, the listed places missed.
ScoredCase half_case(std::size_t number, const std::vector<std::size_t>& missed = {}) {
  ScoredCase out{.id = CaseId("c" + std::to_string(number)), .items = {}};
  for (std::size_t i = 0; i < 7; ++i) {
    const bool miss = std::ranges::find(missed, i) != missed.end();
    out.items.push_back(
        {.item = ItemId(std::to_string(2 * i + number % 2)), .agrees = !miss, .levels_off = miss ? -1 : 0});
  }
  return out;
}

/// n half cases with `misses` in all, moving through the items so that none stands out.
std::vector<ScoredCase> half_cases(std::size_t n, std::size_t misses = 0) {
  std::vector<ScoredCase> out;
  for (std::size_t c = 0; c < n; ++c) {
    std::vector<std::size_t> missed;
    for (std::size_t k = c; k < misses; k += n) missed.push_back((c / 2 + 3 * (k / n)) % 7);
    out.push_back(half_case(c, missed));
  }
  return out;
}

}  // namespace

TEST_CASE("before the first look more cases are needed, whatever they show") {
  const auto decision = decide(half_cases(15), Standard{}).value();
  CHECK(decision.verdict == Verdict::more_cases);
  CHECK(decision.looks.empty());
  CHECK(decision.next_look == 16);
  CHECK(decision.cases == 15);
  CHECK(*decision.so_far.limit.share == 1.0);
}

TEST_CASE("a sound rater is ready at the first look, with the limit that decided") {
  const auto decision = decide(half_cases(16, 6), Standard{}).value();
  REQUIRE(decision.verdict == Verdict::ready);
  REQUIRE(decision.looks.size() == 1);
  const Limit& limit = decision.looks[0].limit;
  CHECK(limit.cases == 16);
  CHECK(limit.scores == 112);
  CHECK(limit.right == 106);
  CHECK(limit.level == 0.97);
  CHECK(*limit.lower >= 0.80);
  CHECK_FALSE(decision.next_look);
  CHECK_FALSE(decision.provisional);
}

TEST_CASE("a rater clearly below is not yet ready at the first look") {
  const auto decision = decide(half_cases(16, 50), Standard{}).value();
  CHECK(decision.verdict == Verdict::not_yet);
  CHECK(decision.decided);
  CHECK(*decision.looks.back().limit.upper < 0.80);
}

TEST_CASE("a rater in between goes through all looks and has not been shown to be ready") {
  CHECK(decide(half_cases(16, 17), Standard{}).value().next_look == 24);
  CHECK(decide(half_cases(31, 33), Standard{}).value().next_look == 32);
  const auto decision = decide(half_cases(32, 34), Standard{}).value();
  CHECK(decision.verdict == Verdict::not_shown);
  CHECK(decision.looks.size() == 3);
  CHECK_FALSE(decision.decided);
}

TEST_CASE("the first look that decides stands, whatever came later") {
  auto cases = half_cases(16, 6);
  for (std::size_t c = 16; c < 24; ++c) cases.push_back(half_case(c, {0, 1, 2, 3, 4, 5, 6}));
  const auto decision = decide(cases, Standard{}).value();
  CHECK(decision.verdict == Verdict::ready);
  CHECK(decision.looks.size() == 1);
  CHECK(decision.so_far.limit.cases == 24);
}

TEST_CASE("an item missed on half of its showings holds a rater back") {
  auto cases = half_cases(16);
  for (std::size_t c = 0; c < 8; c += 2) cases[c].items[3].agrees = false;  // item 6: 4 of 8
  auto decision = decide(cases, Standard{}).value();
  CHECK(decision.verdict == Verdict::more_cases);
  CHECK(decision.looks[0].shown);
  CHECK(decision.looks[0].held_back());
  const auto& items = decision.looks[0].items;
  const auto six = std::ranges::find(items, ItemId("6"), &ItemShowing::item);
  REQUIRE(six != items.end());
  CHECK(*six == ItemShowing{ItemId("6"), 8, 4, true});
  CHECK(std::ranges::count(items, true, &ItemShowing::stands_out) == 1);

  cases[0].items[3].agrees = true;  // 3 of 8 is no longer half
  decision = decide(cases, Standard{}).value();
  CHECK(decision.verdict == Verdict::ready);
}

TEST_CASE("two attempts in a year are held to a higher level, a third has none") {
  const auto cases = half_cases(16, 11);
  const auto once = decide(cases, Standard{}).value();
  const auto twice = decide(cases, Standard{}, {.attempts = 2}).value();
  CHECK(once.level == 0.97);
  CHECK(twice.level == 0.985);
  CHECK(*twice.looks[0].limit.lower < *once.looks[0].limit.lower);
  const auto thrice = decide(cases, Standard{}, {.attempts = 3});
  REQUIRE_FALSE(thrice);
  CHECK(thrice.error().code == Errc::invalid);
  CHECK(thrice.error().message.find("3 attempts") != std::string::npos);
}

TEST_CASE("what does not decide is left out and counted by its reason") {
  auto cases = half_cases(17, 4);
  const std::size_t misses_before = 4;
  cases[0].items[1] = {.item = ItemId("2"), .decidable = Decidable::key_gray};
  cases[1].items[2] = {.item = ItemId("5"), .decidable = Decidable::key_borderline};
  cases[2].items[2] = {.item = ItemId("4"), .decidable = Decidable::key_gray};
  cases[16].items = {{.item = ItemId("5"), .agrees = true, .decidable = Decidable::skip_rule}};
  const auto decision = decide(cases, Standard{}).value();
  CHECK(decision.cases == 16);
  CHECK(decision.so_far.limit.scores == 16 * 7 - 3);
  CHECK(decision.so_far.limit.right == 16 * 7 - 3 - misses_before);
  CHECK(decision.left_out == std::vector<LeftOut>{{Decidable::skip_rule, 1},
                                                  {Decidable::key_gray, 2},
                                                  {Decidable::key_borderline, 1}});
}

TEST_CASE("keys without second readers decide about nobody, or only provisionally") {
  auto cases = half_cases(16, 4);
  for (auto& each : cases)
    for (auto& score : each.items) score.decidable = Decidable::key_unconfirmed;
  const auto strict = decide(cases, Standard{}).value();
  CHECK(strict.verdict == Verdict::more_cases);
  CHECK(strict.cases == 0);
  CHECK(strict.so_far.limit.share.why() == "no decidable score");
  const auto loose = decide(cases, Standard{}, {.unconfirmed = Unconfirmed::counted_provisionally}).value();
  CHECK(loose.verdict == Verdict::ready);
  CHECK(loose.provisional);
}

TEST_CASE("unconfirmed keys after the look that decided do not make it provisional", "[edge]") {
  auto cases = half_cases(17, 4);
  for (auto& score : cases[16].items) score.decidable = Decidable::key_unconfirmed;
  const auto decision =
      decide(cases, Standard{}, {.unconfirmed = Unconfirmed::counted_provisionally}).value();
  CHECK(decision.verdict == Verdict::ready);
  CHECK_FALSE(decision.provisional);
}

TEST_CASE(
    "what would be ready waits while a score behind it waits to be accepted, and nothing else changes") {
  auto cases = half_cases(16, 6);
  const auto plain = decide(cases, Standard{}).value();
  cases[3].items[2].waits = true;
  const auto waits = decide(cases, Standard{}).value();
  CHECK(waits.verdict == Verdict::waits);
  CHECK(waits.waiting == 1);
  CHECK(waits.looks == plain.looks);
  CHECK(waits.decided);
  CHECK_FALSE(waits.next_look);
  // Not accepted it is a miss: one more of them leaves this rater ready.
  cases[3].items[2] = {.item = cases[3].items[2].item, .agrees = false};
  CHECK(decide(cases, Standard{}).value().looks[0].limit.right == plain.looks[0].limit.right - 1);
}

TEST_CASE("a score that waits holds up no other verdict, and none that came after the look", "[edge]") {
  auto low = half_cases(16, 50);
  const auto verdict = decide(low, Standard{}).value().verdict;
  REQUIRE(verdict == Verdict::not_yet);
  for (auto& one : low) one.items[0].waits = true;
  CHECK(decide(low, Standard{}).value().verdict == verdict);
  auto later = half_cases(18, 6);
  later[17].items[0].waits = true;
  CHECK(decide(later, Standard{}).value().verdict == Verdict::ready);
  // Where the key does not count nobody has to accept anything.
  auto aside = half_cases(16, 6);
  aside[0].items[0].decidable = Decidable::key_gray;
  aside[0].items[0].waits = true;
  const auto decided = decide(aside, Standard{}).value();
  CHECK(decided.verdict == Verdict::ready);
  CHECK(decided.waiting == 0);
}

TEST_CASE("a case or an item that stands twice is refused", "[edge]") {
  auto cases = half_cases(3);
  cases[2].id = cases[0].id;
  CHECK(decide(cases, Standard{}).error().message ==
        "case c0 stands twice; only its first scoring is of an unseen case");
  cases = half_cases(1);
  cases[0].items[1].item = cases[0].items[0].item;
  CHECK(decide(cases, Standard{}).error().message == "case c0: item 0 stands twice");
}

TEST_CASE("nobody scored nothing: an answer in words", "[edge]") {
  const auto decision = decide({}, Standard{}).value();
  CHECK(decision.verdict == Verdict::more_cases);
  CHECK(decision.next_look == 16);
  CHECK_FALSE(decision.so_far.limit.lower);
}

TEST_CASE("the order of items within a case changes nothing", "[property]") {
  base::Random random(7);
  auto cases = half_cases(24, 25);
  const auto before = decide(cases, Standard{}).value();
  for (auto& each : cases) random.shuffle(std::span(each.items));
  const auto after = decide(cases, Standard{}).value();
  CHECK(after.verdict == before.verdict);
  CHECK(after.looks == before.looks);
  CHECK(after.so_far == before.so_far);
}

TEST_CASE("abstaining never helps", "[property]") {
  // A blank where the key is a level is a miss: whatever the score would have been, the rater who leaves it
  // out is no nearer to ready.
  const auto rank = [](const Decision& d) { return d.verdict == Verdict::ready ? 1 : 0; };
  for (std::uint64_t r = 0; r < 300; ++r) {
    base::Random random(99, r);
    auto cases = half_cases(32);
    for (auto& each : cases)
      for (auto& score : each.items) score.agrees = random.chance(0.9);
    const auto before = decide(cases, Standard{}).value();
    for (int k = 0; k < 5; ++k) {
      auto& score = cases[random.index(16)].items[random.index(7)];
      score.agrees = false;
      score.levels_off.reset();
    }
    const auto after = decide(cases, Standard{}).value();
    CHECK(rank(after) <= rank(before));
    CHECK(*after.so_far.limit.share <= *before.so_far.limit.share);
  }
}

}  // namespace evenhand::competency
