#include "competency/rounds.hpp"

#include <algorithm>
#include <map>

#include <catch2/catch.hpp>

#include "competency/library_cases.hpp"
#include "support/shipped.hpp"

namespace evenhand::competency {
namespace {

std::vector<TrueCase> some_cases() {
  std::vector<TrueCase> cases;
  for (const std::string id : {"pb-heron", "pb-crow", "pb-newt", "pb-seal", "pb-wren", "pb-otter"})
    cases.push_back(true_case(evenhand::test::shipped_library(), CaseId(id)).value());
  return cases;
}

InventedRounds invented(const RoundsPlan& plan) {
  auto made = simulate_rounds(plan, some_cases(), evenhand::test::shipped_scale());
  REQUIRE(made);
  return *std::move(made);
}

/// Mean total of some raters in a round, over the cases.
double mean_total(const InventedRounds& from, const std::string& round, const std::vector<RaterId>& raters) {
  double sum = 0.0;
  for (const auto& score : from.scores)
    if (score.round == RoundId(round) && score.value &&
        std::ranges::find(raters, score.rater) != raters.end())
      sum += std::stod(*score.value);
  return sum / static_cast<double>(raters.size() * some_cases().size());
}

RoundsPlan two_rounds() { return {.raters = 30, .rounds = {RoundId("one"), RoundId("two")}, .seed = 4}; }

TEST_CASE("one round without drift is what a department scores", "[property]") {
  const auto cases = some_cases();
  const auto rounds = invented({.raters = 5, .rounds = {RoundId("x")}, .seed = 9});
  std::vector<scores::Score> alone;
  for (const auto& rater : invent_department(5, 9)) {
    const auto given =
        simulate(rater, cases, evenhand::test::shipped_scale(), {.round = RoundId("x")}, 9).value();
    alone.insert(alone.end(), given.begin(), given.end());
  }
  CHECK(rounds.scores == alone);
  CHECK(rounds.drifters.empty());
}

TEST_CASE("drifters come to score by the points asked for, from the round asked for", "[property]") {
  auto plan = two_rounds();
  plan.drifters = 10;
  for (const double drift : {-6.0, 3.0}) {
    plan.drift = drift;
    const auto with = invented(plan);
    auto none = plan;
    none.drift = 0.0;
    const auto without = invented(none);
    REQUIRE(with.drifters.size() == 10);
    CHECK(with.drifters == without.drifters);
    CHECK(mean_total(with, "one", with.drifters) == mean_total(without, "one", with.drifters));
    // Ten raters, six cases, some ten items each: the error of the mean is a few tenths.
    CHECK(mean_total(with, "two", with.drifters) - mean_total(without, "two", with.drifters) ==
          Approx(drift).margin(0.8));
  }
}

TEST_CASE("a round is scored anew, and the first one stays as it was", "[property]") {
  const auto two = invented(two_rounds());
  auto one = two_rounds();
  one.rounds.pop_back();
  const auto first = invented(one);
  REQUIRE(two.scores.size() == 2 * first.scores.size());
  CHECK(std::equal(first.scores.begin(), first.scores.end(), two.scores.begin()));
  std::size_t differ = 0;
  for (std::size_t i = 0; i < first.scores.size(); ++i)
    differ += two.scores[i].value != two.scores[first.scores.size() + i].value ? 1 : 0;
  CHECK(differ > 0);
  CHECK(differ < first.scores.size() / 2);
}

TEST_CASE("a misread item is scored lower by its share of the raters, and others are left alone",
          "[property]") {
  auto plan = two_rounds();
  const auto plain = invented(plan);
  plan.misread = {{.item = "10", .share = 0.5}};
  const auto with = invented(plan);
  std::size_t lower = 0, other = 0, of = 0;
  for (std::size_t i = 0; i < plain.scores.size(); ++i) {
    if (plain.scores[i].item != ItemId("10")) {
      other += plain.scores[i] == with.scores[i] ? 0 : 1;
      continue;
    }
    ++of;
    lower += plain.scores[i].value != with.scores[i].value ? 1 : 0;
  }
  CHECK(other == 0);
  CHECK(static_cast<double>(lower) / static_cast<double>(of) == Approx(0.5).margin(0.05));
}

TEST_CASE("raters split in an open place until it is ruled on", "[property]") {
  auto plan = two_rounds();
  const auto plain = invented(plan);
  plan.open = {.item = "7", .ruled_from = 2};
  const auto with = invented(plan);
  std::map<std::string, std::size_t> differ;
  for (std::size_t i = 0; i < plain.scores.size(); ++i) {
    if (plain.scores[i].value == with.scores[i].value) continue;
    CHECK(with.scores[i].item == ItemId("7"));
    ++differ[with.scores[i].round.text()];
  }
  // Half of 30 raters; crow, newt, seal and wren are open there.
  CHECK(differ["one"] > 40);
  CHECK(differ["two"] == 0);
}

TEST_CASE("rounds that cannot be are refused in words", "[edge]") {
  const auto& scale = evenhand::test::shipped_scale();
  const auto refused = [&](auto change) {
    auto plan = two_rounds();
    change(plan);
    const auto made = simulate_rounds(plan, some_cases(), scale);
    return made ? std::string() : made.error().message;
  };
  CHECK_THAT(refused([](RoundsPlan& p) { p.rounds.clear(); }), Catch::Contains("no round"));
  CHECK_THAT(refused([](RoundsPlan& p) { p.drifters = 31; }), Catch::Contains("31 drifters"));
  CHECK_THAT(refused([](RoundsPlan& p) { p.drifters = 1, p.drift = -50.0; }), Catch::Contains("leave room"));
  CHECK_THAT(refused([](RoundsPlan& p) { p.drifters = 1, p.drift_from = 3; }), Catch::Contains("round 3"));
  CHECK_THAT(refused([](RoundsPlan& p) { p.misread = {{.item = "99"}}; }), Catch::Contains("99"));
  CHECK_THAT(refused([](RoundsPlan& p) { p.misread = {{.item = "1", .share = 2.0}}; }),
             Catch::Contains("share"));
  CHECK_THAT(refused([](RoundsPlan& p) { p.open = {.item = "99"}; }), Catch::Contains("99"));
}

}  // namespace
}  // namespace evenhand::competency
