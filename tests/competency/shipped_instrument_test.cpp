#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>

#include "competency/department.hpp"
#include "competency/group.hpp"
#include "competency/summary.hpp"
#include "instrument/read_instrument.hpp"
#include "instrument/reading.hpp"
#include "scores/score_table.hpp"

namespace evenhand::competency {
namespace {

const instrument::Scoring& shipped() {
  static const auto made = [] {
    std::ifstream in("cases/instruments/pediatric-balance.yaml");
    std::stringstream text;
    text << in.rdbuf();
    document::Faults faults;
    auto instrument = instrument::read_instrument(text.str(), "pediatric-balance.yaml", faults);
    INFO(faults.text());
    REQUIRE(instrument);
    return instrument::make_scoring(*std::move(instrument)).value();
  }();
  return made;
}

/// A performance drawn at random: most facts as usual, numbers over the range where thresholds lie.
std::vector<double> random_performance(std::size_t item, base::Random& random) {
  const auto& of = shipped().instrument.items[item];
  const auto& classification = shipped().items[item];
  for (;;) {
    std::vector<double> values;
    for (std::size_t axis = 0; axis < of.observe.size(); ++axis) {
      const auto& observation = shipped().instrument.observations[of.observe[axis]];
      const auto& cuts = classification.partition.axes()[axis].cuts;
      if (!observation.usual.empty() && random.chance(0.8)) {
        values.push_back(observation.usual[random.index(observation.usual.size())]);
      } else if (observation.is_number()) {
        const double top = cuts.empty() ? observation.from + 1.0 : cuts.back().at;
        const double number = observation.from + (1.3 * top - observation.from) * random.uniform();
        values.push_back(observation.kind == instrument::Kind::count ? std::round(number) : number);
      } else {
        values.push_back(static_cast<double>(random.index(observation.values.size())));
      }
    }
    const auto& cell = classification.cells[classification.partition.cell_of(values)];
    if (cell.kind == instrument::CellKind::settled) return values;
  }
}

struct Performed {
  std::vector<TrueCase> cases;
  AnswerKey key;
};

Performed random_cases(std::size_t n) {
  Performed out;
  out.key.instrument = InstrumentId(shipped().instrument.id);
  for (const auto& item : shipped().instrument.items) {
    KeyedItem keyed{.id = ItemId(item.id), .name = item.name};
    for (auto level = item.levels.rbegin(); level != item.levels.rend(); ++level)
      keyed.categories.push_back(level->label);
    out.key.items.push_back(keyed);
  }
  base::Random random(20261125);
  for (std::size_t c = 0; c < n; ++c) {
    TrueCase one{.id = CaseId("c" + std::to_string(c)), .items = {}};
    KeyedCase keyed{.id = one.id, .second_readers = 2};
    for (std::size_t item = 0; item < shipped().instrument.items.size(); ++item) {
      TrueItem of{.item = item};
      std::vector<instrument::SeenTrial> seen;
      const auto& ways = shipped().instrument.items[item].trials.ways;
      for (std::size_t way = 0; way < std::max<std::size_t>(1, ways.size()); ++way) {
        of.trials.push_back({.way = way, .values = random_performance(item, random)});
        seen.push_back({.way = way, .seen = {of.trials.back().values, {}}});
      }
      const auto reading = instrument::read_item(shipped(), item, seen);
      const auto& levels = shipped().instrument.items[item].levels;
      if (reading.level)
        keyed.keys.emplace_back(
            Key{.category = levels.size() - 1 - *reading.level,
                .says = levels[*reading.level].label,
                .decidable = reading.borderline ? Decidable::key_borderline : Decidable::yes});
      else
        keyed.keys.emplace_back();
      one.items.push_back(of);
    }
    out.cases.push_back(one);
    out.key.cases.emplace(one.id, keyed);
  }
  return out;
}

}  // namespace

TEST_CASE("every fact a habit names is observed by the shipped instrument") {
  for (const Habit& habit : known_habits()) {
    for (const Misread& misread : habit.misreads) {
      INFO(habit.id << ": " << misread.fact);
      const auto fact = instrument::observation_named(shipped().instrument, misread.fact);
      REQUIRE(fact);
      const auto& of = shipped().instrument.observations[*fact];
      if (misread.taken_for.empty())
        CHECK_FALSE(of.usual.empty());
      else
        CHECK(instrument::value_named(of, misread.taken_for));
      if (misread.when.empty()) continue;
      const auto when = instrument::observation_named(shipped().instrument, misread.when);
      REQUIRE(when);
      CHECK(instrument::value_named(shipped().instrument.observations[*when], misread.is));
    }
  }
}

TEST_CASE("a report finds what is true of the raters of an invented department") {
  const Performed performed = random_cases(16);
  const auto department = invent_department(20, 4);
  std::vector<scores::Score> rows;
  for (const SimulatedRater& rater : department) {
    const auto given = simulate(rater, performed.cases, shipped(), {}, 9).value();
    rows.insert(rows.end(), given.begin(), given.end());
  }
  const auto results = results_of(scores::table_of(rows).value(), performed.key).value();
  REQUIRE(results.size() == department.size());
  const Difficulty difficulty(results);
  std::vector<Summary> summaries;
  double sound_bias = 0.0;
  double sound_raters = 0.0;
  for (std::size_t r = 0; r < results.size(); ++r) {
    summaries.push_back(summarize(results[r], performed.key, Standard{}, difficulty).value());
    if (department[r].kind != "sound") continue;
    sound_bias += *summaries.back().bias.points.estimate;
    sound_raters += 1.0;
  }
  sound_bias /= sound_raters;  // a slip takes a usual fact for a worse one, so it lies a little below 0
  for (std::size_t r = 0; r < results.size(); ++r) {
    const Summary& summary = summaries[r];
    const double bias = *summary.bias.points.estimate;
    INFO(department[r].kind << ": " << *summary.agreement.estimate << ", bias " << bias);
    if (department[r].kind == "sound") CHECK(*summary.agreement.estimate > 0.90);
    if (department[r].kind == "severe") CHECK(*summary.bias.points.upper < sound_bias);
    if (department[r].kind == "lenient") CHECK(bias > sound_bias + 0.5);
    if (department[r].kind == strict_habit().says) CHECK(bias < sound_bias);
    if (department[r].kind == "never trained") CHECK(summary.decision.verdict != Verdict::ready);
  }
  const auto group = summarize_group(summaries, performed.key, Standard{});
  CHECK(group.verdicts.ready >= 6);
  CHECK(group.verdicts.ready < 20);
}

}  // namespace evenhand::competency
