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
  CHECK(ready.find("lower limit (one-sided 97 %) is 82 %") != std::string::npos);
  CHECK(ready.find("103 of 112") != std::string::npos);
  const auto not_yet = verdict_reason(decision(Verdict::not_yet, 0.5, 0.78));
  CHECK(not_yet.find("upper limit (one-sided 97 %) is 78 %") != std::string::npos);
  const auto more = verdict_reason(decision(Verdict::more_cases, 0.75, 0.95));
  CHECK(more.find("75 % and 95 %") != std::string::npos);
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

TEST_CASE("no limit is made up where there is none") {
  Decision d;
  CHECK(verdict_reason(d) == "No score that counts so far.");
  CHECK(limits_words(d.so_far.limit) == "\u2013");
}
