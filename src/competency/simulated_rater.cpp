#include "competency/simulated_rater.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/core.h>

#include "base/random.hpp"
#include "competency/perception.hpp"
#include "instrument/reading.hpp"

namespace evenhand::competency {
namespace {

using instrument::Item;
using scores::Status;

/// FNV-1a, 64 bits: a number for a name, the same everywhere.
std::uint64_t number_of(std::string_view name) {
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char c : name) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001b3ULL;
  }
  return hash;
}

std::string note_value(const instrument::Observation& of, double value) {
  if (of.is_number()) return scores::text_of(value);
  const auto place = static_cast<std::size_t>(value);
  return place < of.values.size() ? of.values[place].id : std::string();
}

/// One rater at work on one case.
class Work {
 public:
  Work(const SimulatedRater& rater, const instrument::Scoring& scoring) : rater_(rater), scoring_(scoring) {}

  scores::Score score(const TrueItem& of, base::Random random) {
    scores::Score out;
    if (of.trials.empty())
      give_without(of, out);
    else
      give_seen(of, random, out);
    return out;
  }

 private:
  const Item& item(std::size_t place) const { return scoring_.instrument.items[place]; }

  void give_without(const TrueItem& of, scores::Score& out) const {
    out.status = of.without.value_or(Status::not_tested);
    if (out.status != Status::skip_rule) return;
    for (const instrument::SkipRule& skip : scoring_.instrument.skips) {
      const auto given = levels_.find(skip.item);
      if (skip.fills != of.item || given == levels_.end()) continue;
      if (std::ranges::find(skip.levels, given->second) == skip.levels.end()) continue;
      out.value = item(of.item).levels[skip.with].label;
      return;
    }
    out.status = Status::not_tested;
  }

  void give_seen(const TrueItem& of, base::Random& random, scores::Score& out) {
    std::vector<instrument::SeenTrial> judged;
    std::vector<Perceived> seen;
    for (const TrueTrial& trial : trials_looked_at(of)) {
      seen.push_back(perceive(trial, rater_, scoring_, of.item, random));
      judged.push_back({.way = trial.way, .seen = {.values = seen.back().judged, .taken_as_usual = {}}});
    }
    const instrument::ItemReading reading = instrument::read_item(scoring_, of.item, judged);
    // Drawn whether needed or not, so that a habit changes only what it is about.
    const double bend = random.uniform();
    const double mood = random.uniform();
    write_down(of, written_of(reading, seen), out);
    const bool hard = reading.gray() || reading.borderline;
    double abstains = 0.0;
    for (const Habit& habit : rater_.habits) abstains = std::max(abstains, habit.abstains);
    if (reading.number) {
      out.value = scores::text_of(*reading.number);
    } else if (!reading.level || (hard && mood < abstains)) {
      out.status = Status::cannot_rate;
    } else {
      const std::size_t level = bent(item(of.item), as_read(of.item, *reading.level, reading.gray()), bend);
      levels_[of.item] = level;
      out.value = item(of.item).levels[level].label;
    }
  }

  /// What goes on the sheet: the trial that counts, or the mean where trials are averaged.
  static std::vector<double> written_of(const instrument::ItemReading& reading,
                                        const std::vector<Perceived>& seen) {
    if (reading.mean) return reading.mean->values;
    const std::size_t trial = reading.counts ? reading.trials[*reading.counts].trial : 0;
    return seen[trial].written;
  }

  /// The trials this rater pays heed to: all, or the first of each way.
  std::vector<TrueTrial> trials_looked_at(const TrueItem& of) const {
    if (!std::ranges::any_of(rater_.habits, &Habit::first_trial_only)) return of.trials;
    std::vector<TrueTrial> first;
    for (const TrueTrial& trial : of.trials)
      if (std::ranges::find(first, trial.way, &TrueTrial::way) == first.end()) first.push_back(trial);
    return first;
  }

  /// The level as a rater takes it who reads the rule of this item too harshly.
  std::size_t as_read(std::size_t place, std::size_t level, bool open) const {
    const Item& of = item(place);
    for (const Habit& habit : rater_.habits)
      for (const HarshOn& on : habit.harsh_on) {
        if (on.item != of.id || (on.where_open && !open)) continue;
        const std::size_t merit = instrument::merit(of, level);
        return instrument::level_of_merit(
            of, merit == 0 ? std::min<std::size_t>(1, of.levels.size() - 1) : merit - 1);
      }
    return level;
  }

  /// The level as a severe or lenient rater reads the rule.
  std::size_t bent(const Item& of, std::size_t level, double bend) const {
    const std::size_t merit = instrument::merit(of, level);
    if (bend < rater_.severity) return instrument::level_of_merit(of, merit == 0 ? 0 : merit - 1);
    if (bend > 1.0 - rater_.leniency)
      return instrument::level_of_merit(of, std::min(merit + 1, of.levels.size() - 1));
    return level;
  }

  void write_down(const TrueItem& of, const std::vector<double>& written, scores::Score& out) const {
    for (std::size_t axis = 0; axis < written.size(); ++axis) {
      const auto& observation = scoring_.instrument.observations[item(of.item).observe[axis]];
      out.notes.push_back({observation.id, note_value(observation, written[axis])});
      if (observation.kind == instrument::Kind::duration && !out.seconds) out.seconds = written[axis];
    }
  }

  const SimulatedRater& rater_;
  const instrument::Scoring& scoring_;
  std::map<std::size_t, std::size_t> levels_;  // item -> level given so far
};

Result<void> check(const TrueCase& of, const instrument::Instrument& instrument) {
  for (const TrueItem& item : of.items) {
    if (item.item >= instrument.items.size())
      return fail(Errc::invalid, "case {}: there is no item {}; {} has {}", of.id.text(), item.item + 1,
                  instrument.id, instrument.items.size());
    const instrument::Item& known = instrument.items[item.item];
    for (const TrueTrial& trial : item.trials)
      if (trial.values.size() != known.observe.size())
        return fail(Errc::invalid, "case {}, item {}: a trial has {} values where {} are observed",
                    of.id.text(), known.id, trial.values.size(), known.observe.size());
  }
  return {};
}

}  // namespace

Result<std::vector<scores::Score>> simulate(const SimulatedRater& rater, std::span<const TrueCase> cases,
                                            const instrument::Scoring& scoring,
                                            const SimulatedSitting& sitting, std::uint64_t seed) {
  std::vector<scores::Score> out;
  for (const TrueCase& each : cases) {
    if (auto checked = check(each, scoring.instrument); !checked) return tl::unexpected(checked.error());
    Work work(rater, scoring);
    for (const TrueItem& item : each.items) {
      const std::string& id = scoring.instrument.items[item.item].id;
      scores::Score score = work.score(
          item, base::Random(seed ^ number_of(rater.id.text()), number_of(each.id.text() + '/' + id)));
      score.round = sitting.round;
      score.sitting = sitting.sitting;
      score.rater = rater.id;
      score.scored_case = each.id;
      score.item = ItemId(id);
      score.case_version = each.version;
      const double seconds_in = sitting.seconds_per_item * static_cast<double>(out.size() + 1);
      score.at = sitting.start + std::chrono::milliseconds(static_cast<std::int64_t>(1000.0 * seconds_in));
      out.push_back(std::move(score));
    }
  }
  return out;
}

}  // namespace evenhand::competency
