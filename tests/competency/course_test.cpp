#include "competency/course.hpp"

#include <string>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "cases/key.hpp"
#include "competency/evidence.hpp"
#include "competency/support.hpp"
#include "support/shipped.hpp"

namespace evenhand::competency {
namespace {

using evenhand::test::shipped_library;
using test::add_case;
using test::add_scores;
using test::blank_key;

struct Table {
  AnswerKey key;
  std::vector<scores::Score> rows;

  std::vector<RaterResults> results() const {
    return results_of(scores::table_of(rows).value(), key, {.second_readers = 2}).value();
  }
};

/// `cases` cases of four items with key 2. Each of `raters` sound raters is off by one level on a single item
/// of every third case, now up, now down. Rater "late" is like them, and from case `from` on one level high
/// on two items.
Table drifting(std::size_t raters, std::size_t cases, std::size_t from) {
  Table table{blank_key(4), {}};
  base::Random random(7);
  for (std::size_t c = 0; c < cases; ++c) {
    const std::string id = "case-" + std::to_string(100 + c);
    add_case(table.key, id, "2222");
    for (std::size_t r = 0; r < raters; ++r) {
      std::string levels = "2222";
      if (random.index(3) == 0) levels[random.index(4)] = random.index(2) == 0 ? '1' : '3';
      add_scores(table.rows, "sound-" + std::to_string(r), id, levels);
    }
    add_scores(table.rows, "late", id, c < from ? "2222" : "3322");
  }
  return table;
}

}  // namespace

TEST_CASE("sittings follow one another, each with what was scored there") {
  Table table{blank_key(4), {}};
  add_case(table.key, "otter", "2222");
  add_case(table.key, "heron", "2222");
  add_case(table.key, "newt", "2222");
  add_scores(table.rows, "ana", "otter", "2223");
  add_scores(table.rows, "ana", "heron", "2222");
  add_scores(table.rows, "ana", "newt", "22c1");
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    table.rows[i].sitting = SittingId(i < 8 ? "first" : "second");
    table.rows[i].round = RoundId("r1");
  }
  const auto course = course_of(table.results().front(), table.key, {});
  REQUIRE(course.sittings.size() == 2);
  const auto& first = course.sittings[0];
  CHECK(first.sitting == SittingId("first"));
  CHECK(first.round == RoundId("r1"));
  CHECK(first.cases == 2);
  CHECK(first.scores == 8);
  CHECK(first.right == 7);
  CHECK(*first.share.estimate == Approx(7.0 / 8));
  CHECK(*first.points.estimate == Approx(1.0 / 8 * 4));  // levels a score, times four items
  const auto& second = course.sittings[1];
  CHECK(second.right == 2);
  CHECK(second.scores == 4);  // the abstention is a miss, and no error
  CHECK(*second.points.estimate == Approx(-1.0 / 3 * 4));
  CHECK_FALSE(second.share.lower.defined());  // one case
}

TEST_CASE("a rater who goes off the key signals, and those who stay near it mostly do not") {
  const Table table = drifting(8, 30, 12);
  const auto results = table.results();
  const auto usual = usual_errors(results, table.key, 0.8, {.average = 200.0, .runs = 200});
  REQUIRE(usual.design);
  CHECK(usual.raters == 8);  // "late" agrees in 192 - 36 of 240 = 70 %
  CHECK(usual.errors == 240);
  CHECK(usual.design->chart.target == 0.0);
  CHECK(usual.design->in_control.mean > 150.0);
  std::size_t signals = 0;
  for (const RaterResults& rater : results) {
    const auto chart = course_of(rater, table.key, {.usual = usual}).control;
    REQUIRE(chart.why_not.empty());
    REQUIRE(chart.points.size() == 30);
    if (rater.rater == RaterId("late")) {
      REQUIRE(chart.first_signal);
      CHECK(chart.upward);
      CHECK(*chart.first_signal >= 12);
      CHECK(*chart.first_signal < 18);
      CHECK(chart.points[12].error == Approx(2.0));
      CHECK(chart.points[11].average == 0.0);
      CHECK(chart.points[12].average == Approx(0.2 * 2.0));
    } else {
      signals += chart.first_signal.has_value();
    }
  }
  CHECK(signals <= 3);  // eight raters, 30 cases each: about one is to be expected
}

TEST_CASE("there is no chart for few cases or few raters, and the reason is said", "[edge]") {
  const Table few_cases = drifting(20, 11, 5);
  const auto of_many = usual_errors(few_cases.results(), few_cases.key, 0.8);
  REQUIRE(of_many.design);
  const auto chart = course_of(few_cases.results().front(), few_cases.key, {.usual = of_many}).control;
  CHECK(chart.points.empty());
  CHECK(chart.why_not == "11 of the 12 cases that it takes at least have a score that counts");
  const Table few_raters = drifting(2, 30, 5);
  const auto of_two = usual_errors(few_raters.results(), few_raters.key, 0.8);
  CHECK_FALSE(of_two.design);
  CHECK(of_two.why_not.find("2 of the 3 raters") != std::string::npos);
  CHECK(course_of(few_raters.results().front(), few_raters.key, {.usual = of_two}).control.why_not ==
        of_two.why_not);
  CHECK(course_of(few_raters.results().front(), few_raters.key, {}).control.why_not == "not asked for");
}

TEST_CASE("raters who never err show no spread to draw from", "[edge]") {
  Table table{blank_key(4), {}};
  for (int c = 0; c < 12; ++c) {
    const std::string id = "case-" + std::to_string(c);
    add_case(table.key, id, "2222");
    for (const char* rater : {"ana", "ben", "cleo"}) add_scores(table.rows, rater, id, "2222");
  }
  const auto usual = usual_errors(table.results(), table.key, 0.8);
  CHECK_FALSE(usual.design);
  CHECK(usual.why_not.find("alike") != std::string::npos);
}

TEST_CASE("readings of the watch stand beside the timelines of the library's cases") {
  const auto& library = shipped_library();
  const auto scoring = library.instruments.at("pediatric-balance").in_force;
  const auto truth = seconds_by_timelines(library, scoring);
  // Every timed trial with a single stretch, found by a walk of our own.
  std::size_t timed = 0;
  for (const auto& [name, of] : library.cases) {
    if (of.instrument != InstrumentId("pediatric-balance")) continue;
    const auto key = cases::key_of(of, *scoring);
    for (std::size_t item = 0; item < key.items.size(); ++item)
      for (std::size_t t = 0; t < key.items[item].counted.size(); ++t) {
        const auto& facts = key.items[item].facts[key.items[item].counted[t]];
        const auto found = truth(of.id, item, {.trial = static_cast<std::uint32_t>(t + 1), .seconds = 1.0});
        REQUIRE(found.has_value() == (facts.stretches.size() == 1));
        if (!found) continue;
        ++timed;
        REQUIRE(*found == Approx(facts.stretches.front().to - facts.stretches.front().from));
        if (key.items[item].counted.size() > 1)
          REQUIRE_FALSE(truth(of.id, item, {.trial = 0, .seconds = 1.0}));  // of which of them?
      }
  }
  CHECK(timed > 50);
  CHECK_FALSE(truth(CaseId("no-such-case"), 0, {.trial = 1, .seconds = 1.0}));
}

TEST_CASE("the error of the watch is a mean by case, and what has no true length is counted apart") {
  Table table{blank_key(2), {}};
  add_case(table.key, "otter", "22");
  add_case(table.key, "heron", "22");
  add_scores(table.rows, "ana", "otter", "22");
  add_scores(table.rows, "ana", "heron", "22");
  table.rows[0].seconds = 10.2;
  table.rows[1].seconds = 10.4;
  table.rows[2].seconds = 9.9;
  table.rows[3].seconds = 7.0;
  const TrueSeconds truth = [](const CaseId& id, std::size_t item, const WatchReading&) {
    return id == CaseId("heron") && item == 1 ? std::nullopt : std::optional(10.0);
  };
  const auto course = course_of(table.results().front(), table.key, {.true_seconds = truth});
  CHECK(course.watch.readings == 3);
  CHECK(course.watch.unknown == 1);
  CHECK(*course.watch.mean.estimate == Approx(0.5 / 3));
  CHECK(*course.watch.sd == Approx(0.2516611478));  // of .2, .4, -.1
  CHECK(course.watch.mean.lower.defined());
}

TEST_CASE("without readings, or with one, the error of the watch says what is missing", "[edge]") {
  Table table{blank_key(1), {}};
  add_case(table.key, "otter", "2");
  add_scores(table.rows, "ana", "otter", "2");
  const TrueSeconds truth = [](const CaseId&, std::size_t, const WatchReading&) {
    return std::optional(10.0);
  };
  const auto none = course_of(table.results().front(), table.key, {.true_seconds = truth});
  CHECK(none.watch.mean.estimate.why() == "no reading has a true length beside it");
  CHECK(none.watch.sd.why() == "fewer than two readings");
  table.rows[0].seconds = 10.2;
  const auto one = course_of(table.results().front(), table.key, {.true_seconds = truth});
  CHECK(*one.watch.mean.estimate == Approx(0.2));
  CHECK(one.watch.sd.why() == "fewer than two readings");
}

TEST_CASE("summaries carry the course, and how far the scores lie from the key") {
  const Table table = drifting(8, 30, 12);
  const auto results = table.results();
  const auto summary = summarize(results.back(), table.key, Standard{}, Difficulty(results),
                                 {.usual = usual_errors(results, table.key, 0.8)})
                           .value();
  REQUIRE(summary.rater == RaterId("late"));
  REQUIRE(summary.off.size() == 2);
  CHECK(summary.off[0].levels == 0);
  CHECK(summary.off[0].times == 84);
  CHECK(summary.off[1].levels == 1);
  CHECK(summary.off[1].times == 36);
  CHECK(summary.course.sittings.size() == 1);
  CHECK(summary.course.control.points.size() == 30);
}

}  // namespace evenhand::competency
