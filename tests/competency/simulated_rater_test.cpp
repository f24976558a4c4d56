#include "competency/simulated_rater.hpp"

#include <algorithm>
#include <map>

#include <catch2/catch.hpp>

#include "competency/department.hpp"
#include "competency/small_instrument.hpp"
#include "competency/summary.hpp"
#include "instrument/reading.hpp"
#include "scores/score_table.hpp"

namespace evenhand::competency {
namespace {

constexpr std::size_t stand = 0;
constexpr std::size_t rise = 1;

const instrument::Scoring& scoring() {
  static const auto made = test::small_scoring();
  return made;
}

/// What the engine makes of true trials.
instrument::ItemReading read_small(std::size_t item, const std::vector<TrueTrial>& trials) {
  std::vector<instrument::SeenTrial> seen;
  for (const TrueTrial& trial : trials) seen.push_back({.way = trial.way, .seen = {trial.values, {}}});
  return instrument::read_item(scoring(), item, seen);
}

/// The level that follows from what a row says was seen in standing.
std::string level_by_notes(const scores::Score& row) {
  const TrueTrial written{.values = {std::stod(row.notes[0].value), row.notes[1].value == "some" ? 1.0 : 0.0,
                                     row.notes[2].value == "hands-up" ? 1.0 : 0.0}};
  return scoring().instrument.items[stand].levels[read_small(stand, {written}).level.value()].label;
}

/// Invented cases: holds of many lengths in up to three trials, rising with and without hands.
std::vector<TrueCase> some_cases(std::size_t n) {
  std::vector<TrueCase> cases;
  base::Random random(1125);
  for (std::size_t c = 0; c < n; ++c) {
    TrueCase one{.id = CaseId("c" + std::to_string(c)), .items = {}};
    TrueItem standing{.item = stand};
    for (std::size_t t = 0; t < 1 + random.index(3); ++t)
      standing.trials.push_back({.values = {0.5 + 14.0 * random.uniform(), random.chance(0.2) ? 1.0 : 0.0,
                                            random.chance(0.3) ? 1.0 : 0.0}});
    one.items.push_back(standing);
    one.items.push_back({.item = rise,
                         .trials = {{.values = {random.chance(0.5) ? 1.0 : 0.0,
                                                1.0 + static_cast<double>(random.index(5))}}}});
    cases.push_back(one);
  }
  return cases;
}

std::vector<scores::Score> scores_of(const SimulatedRater& rater, const std::vector<TrueCase>& cases,
                                     std::uint64_t seed = 7) {
  return simulate(rater, cases, scoring(), {}, seed).value();
}

SimulatedRater flawless(const char* id) {
  return {.id = RaterId(id), .slip = 0.0, .watch = {0.0, 0.0}, .ruler = {0.0, 0.0}, .goniometer = {0.0, 0.0}};
}

/// The key by a flawless rater, and how another one compares with it.
Summary against_flawless(const SimulatedRater& rater, const std::vector<TrueCase>& cases) {
  auto rows = scores_of(flawless("key"), cases);
  const auto others = scores_of(rater, cases);
  rows.insert(rows.end(), others.begin(), others.end());
  const auto table = scores::table_of(rows).value();
  const auto resolved = scores::resolve(table, {.categories = {"0", "1", "2", "3"}}).value();
  AnswerKey key = answer_key_of(resolved.front(), 2).value();
  const auto results = results_of(table, key, {}, RaterId("key")).value();
  return summarize(results.at(0), key, Standard{}, Difficulty(results)).value();
}

}  // namespace

TEST_CASE("a flawless rater gives the key and writes down what was there") {
  const std::vector<TrueCase> cases{
      {.id = CaseId("otter"),
       .version = "abc",
       .items = {{.item = stand, .trials = {{.values = {4.5, 0, 0}}, {.values = {12.25, 0, 1}}}},
                 {.item = rise, .trials = {{.values = {1, 1}}}}}}};
  const auto rows = scores_of(flawless("r"), cases);
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].value == "3");
  CHECK(rows[0].seconds == 12.25);
  CHECK(rows[0].case_version == "abc");
  CHECK(rows[0].notes ==
        std::vector<scores::Note>{{"hold", "12.25"}, {"near_loss", "none"}, {"guard", "hands-up"}});
  CHECK(rows[1].value == "2");
  CHECK(*rows[0].at < *rows[1].at);
  CHECK(scores::table_of(rows));
}

TEST_CASE("a severe rater scores below the key, a lenient one above", "[property]") {
  const auto cases = some_cases(60);
  SimulatedRater severe = flawless("severe");
  severe.severity = 0.25;
  SimulatedRater lenient = flawless("lenient");
  lenient.leniency = 0.25;
  const Summary low = against_flawless(severe, cases);
  const Summary high = against_flawless(lenient, cases);
  CHECK(*low.bias.points.estimate < -0.2);
  CHECK(*low.bias.points.upper < 0.0);
  CHECK(*high.bias.points.estimate > 0.2);
  CHECK(*low.within_one.estimate == 1.0);
  // Poorest levels cannot go lower: the share lost is the severity times the share above the bottom.
  CHECK(*low.agreement.estimate == Approx(0.80).margin(0.10));
  CHECK(*against_flawless(flawless("r"), cases).agreement.estimate == 1.0);
}

TEST_CASE("who scores the first trial is low where a later one is better, and nowhere else") {
  const auto cases = some_cases(40);
  SimulatedRater rater = flawless("first");
  rater.habits = {first_trial_habit()};
  const Summary found = against_flawless(rater, cases);
  CHECK(*found.bias.points.estimate < 0.0);
  for (std::size_t c = 0; c < cases.size(); ++c)
    for (const ItemResult& result : found.cases[c].items)
      if (cases[c].items[result.item].trials.size() == 1) CHECK(result.agrees);
}

TEST_CASE("what the rater wrote down leads to the score by the rules, unless the rule is misread",
          "[property]") {
  const auto cases = some_cases(40);
  SimulatedRater rater = flawless("r");
  rater.slip = 0.5;
  rater.watch = {.mean = 0.3, .sd = 0.3};
  for (const scores::Score& row : scores_of(rater, cases))
    if (row.item == ItemId("stand")) CHECK(level_by_notes(row) == *row.value);
  rater.habits = {strict_habit()};
  std::size_t strict_differs = 0;
  for (const scores::Score& row : scores_of(rater, cases))
    if (row.item == ItemId("stand") && level_by_notes(row) != *row.value) ++strict_differs;
  CHECK(strict_differs > 0);
}

TEST_CASE("who abstains does so on hard ones only") {
  const std::vector<TrueCase> cases = some_cases(80);
  SimulatedRater rater = flawless("shy");
  rater.habits = {abstaining_habit()};
  std::size_t abstained = 0;
  std::size_t hard = 0;
  const auto rows = scores_of(rater, cases);
  for (std::size_t r = 0; r < rows.size(); r += 2) {
    const bool is_hard = read_small(stand, cases[r / 2].items[0].trials).borderline.has_value();
    hard += is_hard ? 1 : 0;
    if (rows[r].status != scores::Status::cannot_rate) continue;
    ++abstained;
    CHECK(is_hard);
    CHECK_FALSE(rows[r].value);
  }
  CHECK(hard > 2);
  CHECK(abstained > 0);
}

TEST_CASE("an item without trials gets the status the case shows", "[edge]") {
  const std::vector<TrueCase> cases{{.id = CaseId("otter"),
                                     .items = {{.item = stand, .without = scores::Status::refused},
                                               {.item = rise, .without = scores::Status::skip_rule}}}};
  const auto rows = scores_of(flawless("r"), cases);
  CHECK(rows[0].status == scores::Status::refused);
  CHECK(rows[1].status == scores::Status::not_tested);  // no skip rule in this instrument
}

TEST_CASE("the skip rule fills an item only by the rater's own score") {
  instrument::Scoring with_skip = scoring();
  with_skip.instrument.skips = {{.item = stand, .levels = {0}, .fills = rise, .with = 0}};
  const auto scored = [&](double hold) {
    const std::vector<TrueCase> cases{{.id = CaseId("otter"),
                                       .items = {{.item = stand, .trials = {{.values = {hold, 0, 0}}}},
                                                 {.item = rise, .without = scores::Status::skip_rule}}}};
    return simulate(flawless("r"), cases, with_skip, {}, 1).value()[1];
  };
  CHECK(scored(12).status == scores::Status::skip_rule);
  CHECK(scored(12).value == "3");
  CHECK(scored(8).status == scores::Status::not_tested);
}

TEST_CASE("order, company and sittings change no draw, seeds do", "[property]") {
  auto cases = some_cases(20);
  base::Random random(3);
  const SimulatedRater rater = sound_rater(RaterId("r01"), random);
  const auto rows = scores_of(rater, cases);
  CHECK(scores_of(rater, cases) == rows);
  std::reverse(cases.begin(), cases.end());
  const auto reversed = scores_of(rater, cases);
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const auto& same = *std::ranges::find_if(reversed, [&](const scores::Score& other) {
      return other.scored_case == rows[r].scored_case && other.item == rows[r].item;
    });
    CHECK(same.notes == rows[r].notes);
    CHECK(same.value == rows[r].value);
  }
  const auto other_seed = scores_of(rater, cases, 8);
  CHECK(std::ranges::any_of(other_seed, [&](const scores::Score& row) {
    return row.seconds && std::ranges::none_of(reversed, [&](const scores::Score& old) {
             return old.scored_case == row.scored_case && old.seconds == row.seconds;
           });
  }));
  SimulatedRater twin = rater;
  twin.id = RaterId("r02");
  CHECK(scores_of(twin, cases)[0].notes != reversed[0].notes);
}

TEST_CASE("an untrained rater agrees least", "[property]") {
  const auto cases = some_cases(60);
  base::Random random(3);
  const Summary sound = against_flawless(sound_rater(RaterId("a"), random), cases);
  const Summary untrained = against_flawless(untrained_rater(RaterId("b"), random), cases);
  CHECK(*sound.agreement.estimate > 0.90);
  CHECK(*untrained.agreement.estimate < *sound.agreement.estimate - 0.10);
}

TEST_CASE("a case that does not fit the instrument is refused", "[edge]") {
  const std::vector<TrueCase> no_item{{.id = CaseId("otter"), .items = {{.item = 9}}}};
  CHECK(simulate(flawless("r"), no_item, scoring(), {}, 1).error().message ==
        "case otter: there is no item 10; small has 2");
  const std::vector<TrueCase> no_values{
      {.id = CaseId("otter"), .items = {{.item = 0, .trials = {{.values = {1}}}}}}};
  CHECK(simulate(flawless("r"), no_values, scoring(), {}, 1).error().message ==
        "case otter, item stand: a trial has 1 values where 3 are observed");
}

}  // namespace evenhand::competency
