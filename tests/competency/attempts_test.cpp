#include "competency/attempts.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include <catch2/catch.hpp>

#include "competency/standing.hpp"

namespace evenhand::competency {
namespace {

using std::chrono::days;

base::Time day(int n) {
  return base::Time(std::chrono::sys_days(std::chrono::year{2026} / 1 / 10)) + days(n);
}

/// Two items with five levels, key 2 everywhere; cases come into being as they are scored.
struct Rater {
  AnswerKey key{.instrument = InstrumentId("s"),
                .items = {{.id = ItemId("a"), .name = {}, .categories = {"0", "1", "2", "3", "4"}},
                          {.id = ItemId("b"), .name = {}, .categories = {"0", "1", "2", "3", "4"}}},
                .cases = {}};
  RaterResults results{.rater = RaterId("ann"), .cases = {}};
  /// Looks after 4 and 6 cases, of one item each: quick to go through.
  Standard standard{.looks = {4, 6}, .levels = {0.97, 0.985}};

  /// n cases in a sitting, the first `missed` of them off the key.
  void score(const std::string& sitting, std::optional<base::Time> at, std::size_t n, std::size_t missed,
             const std::string& round = "") {
    for (std::size_t i = 0; i < n; ++i) {
      const CaseId id("c" + std::to_string(results.cases.size()));
      key.cases[id] = {
          .id = id, .second_readers = 2, .keys = {Key{2, "2", Decidable::yes}, Key{2, "2", Decidable::yes}}};
      CaseResult one{.id = id};
      one.sitting = SittingId(sitting);
      one.round = RoundId(round);
      one.at = at;
      for (std::size_t item = 0; item < 2; ++item) {
        ItemResult result{.case_id = id, .item = item, .key = 2, .score = i < missed ? 1 : 2};
        result.agrees = i >= missed;
        result.levels_off = i < missed ? -1 : 0;
        one.items.push_back(std::move(result));
      }
      results.cases.push_back(std::move(one));
    }
  }
  Attempts attempts() const { return attempts_of(results, key, standard).value(); }
};

}  // namespace

TEST_CASE("what is scored before a look decides is one attempt, over any number of sittings") {
  Rater rater;
  rater.score("s1", day(0), 2, 0);
  rater.score("s2", day(30), 1, 0);
  const auto attempts = rater.attempts();
  REQUIRE(attempts.made.size() == 1);
  CHECK(attempts.made[0].number == 1);
  CHECK(attempts.made[0].cases.size() == 3);
  CHECK(attempts.made[0].verdict == Verdict::more_cases);
  CHECK(attempts.made[0].begun == day(0));
  CHECK(attempts.made[0].last == day(30));
  CHECK_FALSE(next_attempt_from(attempts, day(40)));
}

TEST_CASE("what is begun after not yet is the second attempt, at its own level and by itself") {
  Rater rater;
  rater.score("s1", day(0), 5, 5);
  rater.score("s2", day(60), 4, 0);
  const auto attempts = rater.attempts();
  REQUIRE(attempts.made.size() == 2);
  CHECK(attempts.made[0].verdict == Verdict::not_yet);
  CHECK(attempts.made[1].number == 2);
  CHECK(attempts.made[1].cases == std::vector<std::size_t>{5, 6, 7, 8});
  const auto stands = standing_decision(rater.results, rater.key, rater.standard).value();
  CHECK(stands.level == 0.985);
  CHECK(stands.cases == 4);
  CHECK(*stands.so_far.limit.share == 1.0);
  // What came of the sitting in which the first attempt ended belongs to that.
  CHECK(attempts.made[0].cases.size() == 5);
}

TEST_CASE("what is begun after the last look has passed is the second attempt") {
  Rater rater;
  rater.score("s1", day(0), 6, 1);
  REQUIRE(rater.attempts().made[0].verdict == Verdict::not_shown);
  rater.score("s2", day(100), 1, 0);
  CHECK(rater.attempts().made.back().number == 2);
}

TEST_CASE("a third attempt in a year is none: it decides nothing, and the day of the next one is said") {
  Rater rater;
  rater.score("s1", day(0), 4, 4);
  rater.score("s2", day(100), 6, 6);
  const auto second = rater.attempts().made.back().verdict;
  REQUIRE(second != Verdict::more_cases);
  REQUIRE(second != Verdict::ready);
  CHECK(next_attempt_from(rater.attempts(), day(150)) == day(365));
  rater.score("s3", day(200), 6, 0);
  const auto attempts = rater.attempts();
  REQUIRE(attempts.made.size() == 2);
  CHECK(attempts.made[1].after_end == 6);
  const auto stands = standing_decision(rater.results, rater.key, rater.standard).value();
  CHECK(stands.verdict == second);
  CHECK(stands.looks.back().limit.cases == 6);
  CHECK(stands.looks.back().limit.right == 0);
  // A year after the first, one is left again: it is the second of the year since.
  CHECK_FALSE(next_attempt_from(attempts, day(365)));
  rater.score("s4", day(366), 4, 0);
  CHECK(rater.attempts().made.size() == 3);
  CHECK(rater.attempts().made.back().number == 2);
}

TEST_CASE("ready stands for the year, and what is scored a year later is a first attempt again") {
  Rater rater;
  rater.standard.not_acceptable = 0.3;  // so that four cases can show it
  rater.score("s1", day(0), 4, 0);
  REQUIRE(rater.attempts().made[0].verdict == Verdict::ready);
  rater.score("", day(200), 4, 4, "fall");
  auto attempts = rater.attempts();
  REQUIRE(attempts.made.size() == 1);
  CHECK(attempts.made[0].verdict == Verdict::ready);
  CHECK(attempts.made[0].after_end == 4);
  CHECK_FALSE(next_attempt_from(attempts, day(201)));
  rater.score("s2", day(365), 4, 4);
  attempts = rater.attempts();
  REQUIRE(attempts.made.size() == 2);
  CHECK(attempts.made[1].number == 1);
  CHECK(standing_decision(rater.results, rater.key, rater.standard)->level == 0.97);
}

TEST_CASE("scores without a time stay with the attempt before them, as far as is known", "[edge]") {
  Rater rater;
  rater.score("s1", std::nullopt, 4, 4);
  rater.score("s2", std::nullopt, 4, 0);
  const auto attempts = rater.attempts();
  REQUIRE(attempts.made.size() == 1);
  CHECK(attempts.made[0].cases.size() == 8);
  const auto stands = standing_decision(rater.results, rater.key, rater.standard).value();
  const auto taken_as_one = decide(scored_cases(rater.results, rater.key), rater.standard).value();
  CHECK(stands.verdict == taken_as_one.verdict);
  CHECK(stands.level == taken_as_one.level);
}

TEST_CASE("scores of no sitting go together by round, and those of neither by day") {
  Rater rater;
  rater.score("", day(0), 3, 3, "fall");
  rater.score("", day(1), 3, 3, "fall");  // the round goes on after a look has decided
  CHECK(rater.attempts().made.size() == 1);
  rater.score("", day(50), 2, 0);
  rater.score("", day(51), 2, 0);
  const auto attempts = rater.attempts();
  REQUIRE(attempts.made.size() == 2);
  CHECK(attempts.made[1].cases.size() == 4);
}

TEST_CASE("who scored nothing has made no attempt, and decides nothing", "[edge]") {
  const Rater rater;
  CHECK(rater.attempts().made.empty());
  CHECK_FALSE(next_attempt_from(rater.attempts(), day(0)));
  CHECK(standing_decision(rater.results, rater.key, rater.standard)->cases == 0);
}

TEST_CASE("no earlier verdict turns into ready when a later attempt sharpens the level") {
  // The premise of telling attempts apart afterwards: ready at 98.5 % implies ready at 97 %.
  for (std::size_t missed = 0; missed <= 6; ++missed) {
    Rater rater;
    rater.standard.not_acceptable = 0.3;
    rater.score("s1", day(0), 6, missed);
    const auto cases = scored_cases(rater.results, rater.key);
    const auto mild = decide(cases, rater.standard, {.attempts = 1}).value();
    const auto strict = decide(cases, rater.standard, {.attempts = 2}).value();
    INFO(missed);
    if (strict.verdict == Verdict::ready) CHECK(mild.verdict == Verdict::ready);
  }
}

TEST_CASE("a summary is of the attempt that stands, and its course of everything") {
  Rater rater;
  rater.score("s1", day(0), 4, 4);
  rater.score("s2", day(60), 3, 0);
  const auto summary =
      summarize_standing(rater.results, rater.key, rater.standard, Difficulty({&rater.results, 1})).value();
  CHECK(summary.cases.size() == 3);
  CHECK(*summary.agreement.estimate == 1.0);
  CHECK(summary.decision.level == 0.985);
  CHECK(summary.course.sittings.size() == 2);
  CHECK(summary.attempts.made.size() == 2);
}

}  // namespace evenhand::competency
