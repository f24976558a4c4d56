#include "report/competency_words.hpp"

#include <catch2/catch.hpp>

using namespace evenhand::report;
using namespace evenhand::competency;

namespace {

Decision decision(Verdict verdict, double lower, double upper) {
  Decision d;
  d.verdict = verdict;
  d.not_acceptable = 0.80;
  d.level = 0.97;
  Look look;
  look.limit.cases = 16;
  look.limit.scores = 112;
  look.limit.right = 103;
  look.limit.share = 103.0 / 112.0;
  look.limit.lower = lower;
  look.limit.upper = upper;
  look.limit.level = 0.97;
  look.shown = lower >= 0.80;
  d.looks.push_back(look);
  d.decided = verdict != Verdict::more_cases;
  return d;
}

}  // namespace

TEST_CASE("the reason names the very limit that decides, and its level") {
  const auto ready = verdict_reason(decision(Verdict::ready, 0.823, 0.96));
  CHECK(ready.find("at least 82 % (lower limit, one-sided 97 %), and the standard asks for 80 %") !=
        std::string::npos);
  CHECK(ready.find("103 of 112") != std::string::npos);
  const auto not_yet = verdict_reason(decision(Verdict::not_yet, 0.5, 0.78));
  CHECK(not_yet.find("at most 78 % (upper limit, one-sided 97 %)") != std::string::npos);
  const auto more = verdict_reason(decision(Verdict::more_cases, 0.75, 0.95));
  CHECK(more.find("between 75 % and 95 %") != std::string::npos);
}

TEST_CASE("an item that holds a rater back is named as the reason") {
  Decision d = decision(Verdict::more_cases, 0.85, 0.97);
  d.looks[0].items = {{evenhand::ItemId("8"), 8, 4, true}};
  CHECK(verdict_reason(d).find("at least one item is missed") != std::string::npos);
  Summary summary;
  summary.decision = d;
  AnswerKey key;
  key.items = {{evenhand::ItemId("8"), "One foot in front", {"0", "1"}}};
  CHECK(verdict_more(summary, key).find("8 One foot in front (4 of 8)") != std::string::npos);
}

TEST_CASE("scores that do not count are told from those that do, each with its reason") {
  Summary summary;
  summary.cases.resize(2);
  summary.cases[0].items.resize(7);
  summary.cases[1].items.resize(6);
  CHECK(scored_words(summary) == "2 cases, 13 scores");
  summary.decision.left_out = {{Decidable::skip_rule, 1}, {Decidable::key_gray, 2}};
  CHECK(scored_words(summary) ==
        "2 cases, 13 scores, of which 10 count (not 1 with a key from the skip rule, 2 with a key that the "
        "criteria leave open)");
}

TEST_CASE("what waits to be accepted is said with what it waits for") {
  auto waits = decision(Verdict::waits, 0.823, 0.96);
  waits.waiting = 2;
  CHECK(verdict_words(waits) == "Waits to be accepted");
  const auto reason = verdict_reason(waits);
  CHECK(reason.find("at least 82 %") != std::string::npos);
  CHECK(reason.find("2 scores come from a description of the trial") != std::string::npos);
  CHECK(described_words({}).empty());
  CHECK(described_words({.open = 1}) ==
        "1 score that counts comes from trials taken in their described form, which gives the times; none of "
        "these is in the stopwatch figures. 1 is not accepted yet: it counts as given, and \u201cready\u201d "
        "waits for it.");
  const auto all = described_words({.open = 2, .accepted = 3, .not_accepted = 1});
  CHECK(all.find("6 scores that count come from trials") != std::string::npos);
  CHECK(all.find("3 are accepted by an instructor.") != std::string::npos);
  CHECK(all.find("1 was not accepted and counts as not given.") != std::string::npos);
  CHECK(all.find("2 are not accepted yet: they count as given") != std::string::npos);
}

TEST_CASE("one case is not many cases", "[edge]") {
  Summary summary;
  summary.cases.resize(1);
  summary.decision.provisional = true;
  summary.unconfirmed_cases = 1;
  Standard standard;
  standard.second_readers = 1;
  REQUIRE(notices(summary, standard).size() == 1);
  CHECK(notices(summary, standard)[0].find(
            "1 of 1 case scored here has not been scored by 1 further reader who") != std::string::npos);
}

TEST_CASE("what a mix off the blueprint means is said without sending anybody to another page") {
  Summary summary;
  summary.cases.resize(2);
  summary.mix.too_many_typical = true;
  REQUIRE(summary.mix.off_blueprint());
  const auto said = notices(summary, Standard{});
  REQUIRE(said.size() == 1);
  CHECK(said[0] ==
        "The mix of the set is not what the standard asks for: the chance of a wrong decision is not the "
        "stated one.");
}

TEST_CASE("no limit is made up where there is none") {
  Decision d;
  CHECK(verdict_reason(d) == "No score that counts so far.");
  CHECK(limits_words(d.so_far.limit) == "\u2013");
}
