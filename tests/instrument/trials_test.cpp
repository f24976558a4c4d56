#include <cmath>

#include <catch2/catch.hpp>

#include "instrument/reason.hpp"
#include "instrument/small.hpp"

using namespace evenhand;
using namespace evenhand::instrument;
using test::label;
using test::seen;
using test::small;

namespace {

/// 3 s, 5 s, 10 s; wobbling costs a level at the top.
Scoring held(const std::string& trials) {
  return small("observe: [hold, wobble, side]\ntrials: " + trials + R"(
levels:
  - {score: "4", says: a, when: {hold: {at_least: 10 s}, wobble: none}}
  - {score: "3", says: b, when: {hold: {at_least: 10 s}, wobble: [some, much]}}
  - {score: "2", says: c, when: {hold: {at_least: 5 s, under: 10 s}}}
  - {score: "1", says: d, when: {hold: {at_least: 3 s, under: 5 s}}}
  - {score: "0", says: e, when: {hold: {under: 3 s}}}
impossible: [{hold: {under: 10 s}, side: both}]
)");
}

ItemReading reading(const Scoring& scoring, const std::vector<std::pair<std::size_t, std::string>>& trials) {
  std::vector<SeenTrial> given;
  for (const auto& [way, facts] : trials) given.push_back({.way = way, .seen = seen(scoring, facts).value()});
  return read_item(scoring, 0, given);
}

std::string label_of(const Scoring& scoring, const ItemReading& reading) {
  return reading.level ? scoring.instrument.items[0].levels[*reading.level].label : "none";
}

Scoring reached(const std::string& trials) {
  return small("observe: [reach, wobble]\ntrials: " + trials + R"(
levels:
  - {score: "4", says: a, when: {reach: {more_than: 10 in}, wobble: none}}
  - {score: "3", says: b, when: {reach: {more_than: 5 in, at_most: 10 in}, wobble: none}}
  - {score: "2", says: c, when: {reach: {more_than: 2 in, at_most: 5 in}, wobble: none}}
  - {score: "1", says: d, when: {wobble: some}}
  - {score: "0", says: e, when: [{reach: {at_most: 2 in}, wobble: none}, {wobble: much}]}
)");
}

}  // namespace

TEST_CASE("each trial rule counts its own trial") {
  const std::vector<std::string> trials{"hold=4 s", "hold=12 s; wobble=some", "hold=6 s"};
  CHECK(label(held("{count: 3, counts: best}"), trials) == "3");
  CHECK(label(held("{count: 3, counts: worst}"), trials) == "1");
  CHECK(label(held("{count: 3, counts: first}"), trials) == "1");
  CHECK(label(held("{count: 3, counts: last}"), trials) == "2");
}

TEST_CASE("best goes by level and not by number") {
  CHECK(label(held("{count: 3, counts: best}"), {"hold=50 s; wobble=some", "hold=10 s"}) == "4");
}

TEST_CASE("what comes after the full score does not count", "[edge]") {
  const auto worst = held("{count: 3, counts: worst, stop_at: \"4\"}");
  CHECK(label(worst, {"hold=12 s", "hold=1 s"}) == "4");
  CHECK(label(worst, {"hold=8 s", "hold=12 s", "hold=1 s"}) == "2");
  CHECK(label(held("{count: 3, counts: worst}"), {"hold=12 s", "hold=1 s"}) == "0");
  // An average ends early at its first trial only.
  const auto mean = held("{count: 3, counts: mean, stop_at: \"4\"}");
  CHECK(label(mean, {"hold=12 s", "hold=1 s"}) == "4");
  CHECK(label(mean, {"hold=1 s", "hold=12 s"}) == "2");
}

TEST_CASE("a mean is of unrounded numbers, none above the top threshold") {
  const auto mean = held("{count: 3, counts: mean}");
  CHECK(label(mean, {"hold=4.9 s", "hold=4.9 s", "hold=5.1 s"}) == "1");  // 4.97
  CHECK(label(mean, {"hold=30 s", "hold=4 s", "hold=4 s"}) == "2");       // capped 6, uncapped 12.7
  CHECK(label(mean, {"hold=30 s", "hold=10 s", "hold=12 s"}) == "4");
  CHECK(label(mean, {"hold=30 s", "hold=30 s", "hold=9.9 s"}) == "2");
}

TEST_CASE("a mean that is a threshold is that threshold, whatever binary fractions say", "[edge]") {
  const auto strict = reached("{count: 3, counts: mean}");
  const auto at_least = held("{count: 3, counts: mean}");
  const auto text = [](int tenths) {
    return std::to_string(tenths / 10) + "." + std::to_string(tenths % 10);
  };
  int off = 0;
  for (int a = 30; a <= 70; ++a)
    for (int b = 30; b <= 70; ++b) {
      const int c = 150 - a - b;  // tenths: the mean is 5 exactly
      if (c < 0 || c >= 100) continue;
      off += (a / 10.0 + b / 10.0 + c / 10.0) / 3.0 != 5.0;
      const auto inches = [&](int t) { return "reach=" + text(t) + " in"; };
      const auto seconds = [&](int t) { return "hold=" + text(t) + " s"; };
      if (label(strict, {inches(a), inches(b), inches(c)}) != "2") FAIL(a << ' ' << b << ' ' << c);
      if (label(at_least, {seconds(a), seconds(b), seconds(c)}) != "2") FAIL(a << ' ' << b << ' ' << c);
    }
  CHECK(off > 0);  // the sum in floating point alone would be wrong for some
}

TEST_CASE("in a mean strictly above a top threshold, three trials above it stay above it", "[edge]") {
  const auto mean = reached("{count: 3, counts: mean}");
  CHECK(label(mean, {"reach=12 in", "reach=10.01 in", "reach=14 in"}) == "4");
  CHECK(label(mean, {"reach=30 in", "reach=30 in", "reach=9.9 in"}) == "3");
}

TEST_CASE("in a mean two of three trials decide the facts, and of two the worse") {
  const auto mean = held("{count: 3, counts: mean}");
  CHECK(label(mean, {"hold=12 s; wobble=some", "hold=12 s; wobble=some", "hold=12 s"}) == "3");
  CHECK(label(mean, {"hold=12 s; wobble=some", "hold=12 s", "hold=12 s"}) == "4");
  CHECK(label(mean, {"hold=12 s; wobble=some", "hold=12 s"}) == "3");
}

TEST_CASE("a mean whose facts cannot be seen together takes facts that can", "[edge]") {
  // Both sides go with 10 s or more only; the mean lies below.
  const auto mean = held("{count: 3, counts: mean}");
  const auto result =
      reading(mean, {{0, "hold=12 s; side=both"}, {0, "hold=12 s; side=both"}, {0, "hold=6 s; side=right"}});
  CHECK(label_of(mean, result) == "2");
  REQUIRE(result.mean);
  CHECK(result.mean->values[2] == 1.0);  // right: what was seen in a trial goes before what is usual
}

TEST_CASE("a spoilt trial is left out of the mean at its price, more of them are not") {
  const auto mean =
      reached("{count: 3, counts: mean, mean: {spoilt: {when: {wobble: much}, at_most: 1, less: 1}}}");
  CHECK(label(mean, {"reach=9 in", "reach=9 in", "reach=1 in; wobble=much"}) == "2");
  CHECK(label(mean, {"reach=9 in", "reach=9 in", "reach=9 in"}) == "3");
  CHECK(label(mean, {"reach=9 in", "reach=9 in; wobble=much", "reach=9 in; wobble=much"}) == "0");
  CHECK(label(mean, {"reach=1 in", "reach=1 in", "reach=1 in; wobble=much"}) == "0");
  const auto result = reading(mean, {{0, "reach=9 in"}, {0, "reach=9 in"}, {0, "reach=1 in; wobble=much"}});
  CHECK(result.left_out_of_mean == 1);
}

TEST_CASE("ways count for themselves first, then the worse or the better of them") {
  const std::string ways = ", ways: [out, back], ways_count: ";
  const std::vector<std::pair<std::size_t, std::string>> trials{
      {0, "hold=4 s"}, {1, "hold=6 s"}, {0, "hold=12 s"}, {1, "hold=1 s"}};
  const auto of = [&](const std::string& rule) {
    const auto scoring = held(rule);
    return label_of(scoring, reading(scoring, trials));
  };
  CHECK(of("{count: 2, counts: best" + ways + "worst}") == "2");
  CHECK(of("{count: 2, counts: best" + ways + "best}") == "4");
  CHECK(of("{count: 2, counts: worst" + ways + "best}") == "1");
  // Means: out (4 + 10) / 2 = 7, back (6 + 1) / 2 = 3.5.
  CHECK(of("{count: 2, counts: mean" + ways + "worst}") == "1");
  CHECK(of("{count: 2, counts: mean" + ways + "best}") == "2");
  const auto scoring = held("{count: 2, counts: mean" + ways + "best}");
  const auto result = reading(scoring, trials);
  REQUIRE(result.mean);
  CHECK(result.mean->values[0] == 7.0);
  CHECK(result.mean->way == 0);
}

TEST_CASE("a way without a trial, or no trial at all, is no score and no zero", "[edge]") {
  const auto ways = held("{count: 2, counts: best, ways: [out, back], ways_count: worst}");
  const auto result = reading(ways, {{0, "hold=12 s"}});
  CHECK_FALSE(result.level);
  CHECK(result.no_score_because == "the way `back` was not tested");
  const auto none = reading(held("{count: 1, counts: best}"), {});
  CHECK_FALSE(none.level);
  CHECK_FALSE(none.no_score_because.empty());
}

TEST_CASE("a trial that nobody ruled on leaves the best open", "[edge]") {
  const auto scoring = small(R"(observe: [hold]
trials: {count: 3, counts: best}
levels:
  - {score: "1", says: a, when: {hold: {at_least: 10 s}}}
  - {score: "0", says: b, when: {hold: {under: 5 s}}}
)");
  CHECK(label(scoring, {"hold=2 s", "hold=12 s"}) == "1");
  CHECK(label(scoring, {"hold=2 s", "hold=7 s"}) == "none");
}

TEST_CASE("labels may be any text, and a lower score may be the better one") {
  const auto scoring = small(R"(observe: [steps]
trials: {count: 3, counts: best}
levels:
  - {score: "2", says: a, when: {steps: {under: 2}}}
  - {score: "1+", says: b, when: {steps: {at_least: 2, under: 5}}}
  - {score: "1", says: c, when: {steps: {at_least: 5, under: 9}}}
  - {score: "0", says: d, when: {steps: {at_least: 9}}}
)",
                             "", "lower");
  CHECK(label(scoring, {"steps=1", "steps=3"}) == "1+");
  CHECK(label(scoring, {"steps=10", "steps=3"}) == "0");
  CHECK(merit(scoring.instrument.items[0], *level_named(scoring.instrument.items[0], "1+")) == 1);
  const auto result = reading(scoring, {{0, "steps=3"}});
  REQUIRE(result.trials.front().next);
  CHECK(scoring.instrument.items[0].levels[result.trials.front().next->level].label == "1");
  CHECK(result.trials.front().next->lacks.front().shortfall == 2.0);
}

TEST_CASE("borderline is strictly between threshold - below and threshold + above", "[edge]") {
  const auto scoring = held("{count: 1, counts: best}");
  const auto border = [&](const std::string& hold) {
    return reading(scoring, {{0, "hold=" + hold + " s"}}).borderline.has_value();
  };
  CHECK_FALSE(border("9.4"));
  CHECK(border("9.401"));
  CHECK(border("10"));
  CHECK(border("10.299"));
  CHECK_FALSE(border("10.3"));
  CHECK_FALSE(border("4.4"));  // exact at each threshold, though 5 - 0.6 is not in binary
  CHECK(border("4.41"));
  CHECK_FALSE(border("2.4"));
  CHECK(border("2.41"));
  const auto result = reading(scoring, {{0, "hold=9.9 s"}});
  REQUIRE(result.borderline);
  CHECK(result.borderline->threshold == 10.0);
  CHECK(scoring.instrument.items[0].levels[result.borderline->other_level].label == "4");
}

TEST_CASE("the edges of the error band are exact where binary fractions are not", "[edge]") {
  const auto border = [](const std::string& threshold, const std::string& hold) {
    const auto scoring = small(
        "observe: [hold]\ntrials: {count: 1, counts: first}\nlevels:\n  - {score: \"1\", says: a, "
        "when: {hold: {at_least: " +
        threshold + " s}}}\n  - {score: \"0\", says: b, when: {hold: {under: " + threshold + " s}}}\n");
    return reading(scoring, {{0, "hold=" + hold + " s"}}).borderline.has_value();
  };
  REQUIRE(0.8 > 1.4 - 0.6);  // as doubles
  CHECK_FALSE(border("1.4", "0.8"));
  CHECK(border("1.4", "0.81"));
  REQUIRE(1.4 < 1.1 + 0.3);
  CHECK_FALSE(border("1.1", "1.4"));
  CHECK(border("1.1", "1.39"));
}

TEST_CASE("a length in inches has the ruler's error in inches", "[edge]") {
  // 0.5 cm = 0.19685 in.
  const auto scoring = reached("{count: 1, counts: best}");
  CHECK(reading(scoring, {{0, "reach=9.81 in"}}).borderline);
  CHECK_FALSE(reading(scoring, {{0, "reach=9.80 in"}}).borderline);
  CHECK(reading(scoring, {{0, "reach=10.19 in"}}).borderline);
  CHECK_FALSE(reading(scoring, {{0, "reach=10.20 in"}}).borderline);
}

TEST_CASE("a number near a threshold that changes nothing is not borderline", "[edge]") {
  const auto best = held("{count: 3, counts: best}");
  CHECK_FALSE(reading(best, {{0, "hold=12 s"}, {0, "hold=4.9 s"}}).borderline);
  // It is when moving it lifts the item.
  CHECK(reading(best, {{0, "hold=4.8 s"}, {0, "hold=4 s"}}).borderline);
  CHECK(reading(best, {{0, "hold=8 s"}, {0, "hold=9.9 s"}}).borderline);
  CHECK_FALSE(reading(best, {{0, "hold=8 s"}, {0, "hold=4.9 s"}}).borderline);
  // A mean is looked at as a whole: 9.9 here, although no trial is near 5 or 10.
  CHECK(reading(held("{count: 2, counts: mean}"), {{0, "hold=11 s"}, {0, "hold=9.8 s"}}).borderline);
}

TEST_CASE("what is not stated is as usual: the first combination that can be seen") {
  const auto scoring = small(R"(observe: [hold, wobble, side]
trials: {count: 1, counts: first}
levels:
  - {score: "1", says: a, when: {hold: {at_least: 10 s}}}
  - {score: "0", says: b, when: {hold: {under: 10 s}}}
impossible: [{hold: {under: 10 s}, side: left}, {wobble: much, side: [left, right]}]
)");
  const auto usual = seen(scoring, "hold=12 s");
  REQUIRE(usual);
  CHECK(usual->values == std::vector<double>{12.0, 0.0, 0.0});
  CHECK(usual->taken_as_usual == std::vector<std::size_t>{1, 2});
  CHECK(seen(scoring, "hold=8 s")->values == std::vector<double>{8.0, 0.0, 1.0});
  CHECK(seen(scoring, "wobble=some")->values == std::vector<double>{50.0, 1.0, 0.0});
  const auto contradiction = seen(scoring, "hold=8 s; wobble=much");
  REQUIRE_FALSE(contradiction);
  CHECK_THAT(contradiction.error().message, Catch::Contains("cannot be seen together"));
}

TEST_CASE("an observed value that is unknown, absurd or missing is refused with the mend", "[edge]") {
  const auto scoring = small(R"(observe: [hold, seconds, steps, wobble]
trials: {count: 1, counts: first}
levels:
  - {score: "1", says: a, when: {hold: {at_least: 10 s}}}
  - {score: "0", says: b, when: {hold: {under: 10 s}}}
)");
  const auto message = [&](std::string_view facts) {
    const auto result = seen(scoring, facts);
    return result ? std::string("taken") : result.error().message;
  };
  CHECK(message("seconds=3 s") == "taken");
  CHECK_THAT(message("hodl=3 s; seconds=3 s"), Catch::Contains("did you mean `hold`?"));
  CHECK_THAT(message("wobble=somme; seconds=3 s"), Catch::Contains("did you mean `some`?"));
  CHECK_THAT(message("hold=101 s; seconds=3 s"), Catch::Contains("it lies between 0 s and 100 s"));
  CHECK_THAT(message("hold=-1 s; seconds=3 s"), Catch::Contains("it lies between 0 s and 100 s"));
  CHECK_THAT(message("steps=2.5; seconds=3 s"), Catch::Contains("whole number"));
  CHECK_THAT(message("hold=3 cm; seconds=3 s"), Catch::Contains("hold"));
  CHECK_THAT(message("hold=3; seconds=3 s"), Catch::Contains("hold"));
  CHECK_THAT(message("hold=3 s; hold=4 s; seconds=3 s"), Catch::Contains("stated twice"));
  CHECK_THAT(message("hold=3 s"), Catch::Contains("`seconds` must be stated: How long?"));
  const std::vector<std::pair<std::string, std::string>> bare{{"hold", "18.4"}, {"seconds", "3"}};
  const auto taken = observe(scoring, 0, bare, BareNumbers::taken);
  REQUIRE(taken);
  CHECK(taken->values[0] == 18.4);
}

TEST_CASE("a measured item takes its number by the trial rule, without a cap") {
  const auto measured = [](const std::string& rule, const std::string& better) {
    return small("observe: [seconds]\ntrials: " + rule + "\nscore: {observation: seconds, better: " + better +
                 "}\n");
  };
  const std::vector<std::pair<std::size_t, std::string>> trials{
      {0, "seconds=7 s"}, {0, "seconds=5 s"}, {0, "seconds=9.6 s"}};
  CHECK(reading(measured("{count: 3, counts: best}", "less"), trials).number == 5.0);
  CHECK(reading(measured("{count: 3, counts: best}", "more"), trials).number == 9.6);
  CHECK(reading(measured("{count: 3, counts: worst}", "less"), trials).number == 9.6);
  CHECK(reading(measured("{count: 3, counts: mean}", "less"), trials).number.value() ==
        Approx(7.2).margin(1e-9));
}
