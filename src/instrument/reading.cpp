#include "instrument/reading.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "instrument/pooled.hpp"

namespace evenhand::instrument {
namespace {

/// Whether what was seen is better than all that the constraint allows: that is nothing missing.
bool beyond(const Constraint& constraint, const Observation& observation, double value) {
  if (observation.kind == Kind::ordered) return value < static_cast<double>(constraint.values.front());
  if (observation.better == Better::more) return constraint.high && above(value, *constraint.high);
  if (observation.better == Better::less) return constraint.low && !above(value, *constraint.low);
  return false;
}

/// How far a number lies from what was asked; a strict bound missed exactly is a hair short.
double shortfall_of(const Constraint& constraint, double value) {
  if (constraint.low && !above(value, *constraint.low)) return constraint.low->at - value;
  if (constraint.high && above(value, *constraint.high)) return value - constraint.high->at;
  return 0.0;
}

NextLevel nearest_clause(const Instrument& instrument, const Item& item, std::size_t level,
                         std::span<const double> values) {
  std::optional<NextLevel> best;
  double best_shortfall = 0.0;
  for (const Clause& clause : item.levels[level].when) {
    NextLevel candidate{level, {}};
    double shortfall = 0.0;
    for (const Constraint& constraint : clause.constraints) {
      const Observation& observation = instrument.observations[constraint.observation];
      const double value = values[*axis_of(item, constraint.observation)];
      if (holds(constraint, observation, value) || beyond(constraint, observation, value)) continue;
      const double short_by = observation.is_number() ? shortfall_of(constraint, value) : 0.0;
      candidate.lacks.push_back({constraint, value, short_by});
      shortfall += short_by;
    }
    if (candidate.lacks.empty()) continue;  // it is described already, and yet ruled lower
    const bool nearer = !best || candidate.lacks.size() < best->lacks.size() ||
                        (candidate.lacks.size() == best->lacks.size() && shortfall < best_shortfall);
    if (!nearer) continue;
    best = std::move(candidate);
    best_shortfall = shortfall;
  }
  return best.value_or(NextLevel{level, {}});
}

std::vector<std::size_t> chain_of(const Classification& classification, std::size_t cell) {
  std::vector<std::size_t> rulings;
  while (classification.cells[cell].ruling >= 0) {
    rulings.push_back(static_cast<std::size_t>(classification.cells[cell].ruling));
    const auto next = classification.cells[cell].looked_up;
    if (next == Cell::nowhere || rulings.size() > classification.rulings.size()) break;
    cell = next;
  }
  return rulings;
}

std::size_t merit_of(const Item& item, const TrialReading& reading) { return merit(item, *reading.level); }

/// Which of some readings counts by the rule; nothing when one of them has no level and could have counted.
std::optional<std::size_t> choose(const Item& item, Counts counts, const std::vector<TrialReading>& trials,
                                  const std::vector<std::size_t>& among) {
  if (among.empty()) return std::nullopt;
  if (counts == Counts::first) return among.front();
  if (counts == Counts::last) return among.back();
  const auto value = [&](std::size_t place) {
    const TrialReading& reading = trials[place];
    if (reading.number) return item.measured->better == Better::less ? -*reading.number : *reading.number;
    return static_cast<double>(merit_of(item, reading));
  };
  for (const std::size_t place : among)
    if (!trials[place].level && !trials[place].number) return std::nullopt;
  const auto goes_before = [&](std::size_t place, std::size_t chosen) {
    if (value(place) != value(chosen))
      return counts == Counts::best ? value(place) > value(chosen) : value(place) < value(chosen);
    // What the words of the criteria settle is the firmer ground.
    return trials[place].rulings.empty() && !trials[chosen].rulings.empty();
  };
  std::size_t chosen = among.front();
  for (const std::size_t place : among)
    if (goes_before(place, chosen)) chosen = place;
  return chosen;
}

struct Chosen {
  std::optional<std::size_t> counts;
  std::optional<TrialReading> mean;
  std::size_t left_out = 0;
  std::optional<Capped> capped;
};

/// The first number of a mean that went past its top threshold.
std::optional<Capped> capped_in(const Scoring& scoring, std::size_t item_place,
                                const std::vector<std::vector<double>>& trials) {
  const auto& axes = scoring.items[item_place].partition.axes();
  for (std::size_t axis = 0; axis < axes.size(); ++axis) {
    const Observation& observation = scoring.instrument.observations[axes[axis].observation];
    if (!observation.is_number()) continue;
    std::vector<double> numbers;
    for (const auto& values : trials) numbers.push_back(values[axis]);
    const auto cap = cap_of_mean(axes[axis], observation.better, numbers);
    if (!cap) continue;
    const bool all = std::ranges::all_of(numbers, [&](const double& number) {
      return cap_of_mean(axes[axis], observation.better, std::span(&number, 1)).has_value();
    });
    return Capped{axes[axis].observation, *cap, all};
  }
  return std::nullopt;
}

Chosen mean_of(const Scoring& scoring, std::size_t item_place, const std::vector<TrialReading>& trials,
               std::vector<std::size_t> among) {
  const Instrument& instrument = scoring.instrument;
  const Item& item = instrument.items[item_place];
  Chosen chosen;
  // A full score at the first trial: no more were needed.
  if (among.size() == 1) {
    chosen.counts = among.front();
    if (!trials[among.front()].level && !trials[among.front()].number) chosen.counts.reset();
    return chosen;
  }
  if (const auto& spoilt = item.trials.spoilt) {
    std::vector<std::size_t> good;
    for (const std::size_t place : among)
      if (std::ranges::none_of(spoilt->when, [&](const Clause& clause) {
            return holds(clause, instrument.observations, item.observe, trials[place].values);
          }))
        good.push_back(place);
    const std::size_t lost = among.size() - good.size();
    if (lost > 0 && lost <= spoilt->at_most && !good.empty()) {
      chosen.left_out = lost;
      among = good;
    }
  }
  std::vector<std::vector<double>> seen;
  for (const std::size_t place : among) seen.push_back(trials[place].values);
  chosen.capped = capped_in(scoring, item_place, seen);
  const auto values = pooled(scoring, item_place, seen);
  TrialReading mean = read_trial(scoring, item_place, values);
  mean.trial = among.front();
  mean.way = trials[among.front()].way;
  if (chosen.left_out > 0 && mean.level) {
    const std::size_t price = chosen.left_out * item.trials.spoilt->less;
    const std::size_t found = merit_of(item, mean);
    mean.level = level_of_merit(item, found > price ? found - price : 0);
  }
  if (mean.level || mean.number) chosen.counts = among.front();
  chosen.mean = std::move(mean);
  return chosen;
}

std::string open_words(const Item& item, const TrialReading& reading, bool several) {
  const std::string which = several ? fmt::format("trial {}: ", reading.trial + 1) : std::string();
  if (reading.kind == CellKind::impossible) return which + "what was seen contradicts itself";
  return fmt::format("{}nobody has ruled on what was seen ({})", which,
                     reading.kind == CellKind::open
                         ? fmt::format("no level of item {} describes it", item.id)
                         : fmt::format("several levels of item {} describe it", item.id));
}

/// The rule within one way. Nothing when no trial counts; then `no_score_because` says why.
std::optional<Chosen> choose_within(const Scoring& scoring, std::size_t item_place, std::size_t way,
                                    ItemReading& reading) {
  const Item& item = scoring.instrument.items[item_place];
  std::vector<std::size_t> among;
  for (std::size_t place = 0; place < reading.trials.size(); ++place)
    if (reading.trials[place].way == way) among.push_back(place);
  if (among.empty()) {
    reading.no_score_because = item.trials.ways.empty()
                                   ? "no trial that counts was seen"
                                   : fmt::format("the way `{}` was not tested", item.trials.ways[way]);
    return std::nullopt;
  }
  Chosen chosen;
  if (item.trials.counts == Counts::mean)
    chosen = mean_of(scoring, item_place, reading.trials, among);
  else
    chosen.counts = choose(item, item.trials.counts, reading.trials, among);
  const TrialReading* open = chosen.mean ? &*chosen.mean : nullptr;
  if (chosen.counts && !open) open = &reading.trials[*chosen.counts];
  for (const std::size_t place : among)
    if (!open && !reading.trials[place].level) open = &reading.trials[place];
  if (chosen.counts && (open->level || open->number)) return chosen;
  reading.no_score_because = open_words(item, *open, among.size() > 1 && !chosen.mean);
  return std::nullopt;
}

void settle(const Scoring& scoring, std::size_t item_place, ItemReading& reading) {
  const Item& item = scoring.instrument.items[item_place];
  const std::size_t ways = std::max<std::size_t>(item.trials.ways.size(), 1);
  std::vector<Chosen> chosen;
  std::vector<TrialReading> deciding;
  std::vector<std::size_t> all;
  for (std::size_t way = 0; way < ways; ++way) {
    auto one = choose_within(scoring, item_place, way, reading);
    if (!one) return;
    deciding.push_back(one->mean ? *one->mean : reading.trials[*one->counts]);
    chosen.push_back(std::move(*one));
    all.push_back(way);
  }
  const Counts rule = item.trials.ways.empty() ? Counts::first : item.trials.ways_count;
  const std::size_t way = *choose(item, rule, deciding, all);
  reading.counts = chosen[way].counts;
  reading.mean = std::move(chosen[way].mean);
  reading.left_out_of_mean = chosen[way].left_out;
  reading.capped = chosen[way].capped;
  reading.level = deciding[way].level;
  reading.number = deciding[way].number;
}

/// The same item without looking for thresholds nearby.
ItemReading read_plainly(const Scoring& scoring, std::size_t item_place, std::span<const SeenTrial> trials) {
  const Item& item = scoring.instrument.items[item_place];
  ItemReading reading;
  std::vector<bool> full(std::max<std::size_t>(item.trials.ways.size(), 1), false);
  for (std::size_t place = 0; place < trials.size(); ++place) {
    const std::size_t way = trials[place].way;
    if (full[way]) {
      ++reading.not_needed;
      continue;
    }
    TrialReading one = read_trial(scoring, item_place, trials[place].seen.values);
    one.trial = place;
    one.way = way;
    // An average ends early only at its first trial.
    const bool may_end = item.trials.counts != Counts::mean ||
                         std::ranges::none_of(reading.trials, [&](const auto& t) { return t.way == way; });
    full[way] = may_end && one.level && item.trials.stop_at && one.level == item.trials.stop_at;
    reading.trials.push_back(std::move(one));
  }
  settle(scoring, item_place, reading);
  return reading;
}

/// The nearest number on the other side of a cut.
double across(double value, const Cut& cut) {
  constexpr double far = std::numeric_limits<double>::infinity();
  if (above(value, cut)) return cut.after ? cut.at : std::nextafter(cut.at, -far);
  return cut.after ? std::nextafter(cut.at, far) : cut.at;
}

/// Calls `visit(axis, cut)` for each cut that a number lies near.
template <class Visit>
void for_each_near_cut(const Scoring& scoring, std::size_t item_place, std::span<const double> values,
                       Visit visit) {
  const Instrument& instrument = scoring.instrument;
  const auto& axes = scoring.items[item_place].partition.axes();
  constexpr double hair = 1e-9;  // 30 - 29.4 is not 0.6 in binary
  for (std::size_t axis = 0; axis < axes.size(); ++axis) {
    const Observation& observation = instrument.observations[axes[axis].observation];
    if (!observation.is_number()) continue;
    const ErrorBand band = error_band(instrument, observation);
    for (const Cut& cut : axes[axis].cuts)
      // A cut at the very beginning (0 s: it did not happen) is no reading of a watch.
      if (cut.at > observation.from && values[axis] > cut.at - band.below + hair &&
          values[axis] < cut.at + band.above - hair)
        visit(axis, cut);
  }
}

std::optional<Borderline> borderline_of(const Scoring& scoring, std::size_t item_place,
                                        std::span<const SeenTrial> trials, const ItemReading& reading) {
  const Item& item = scoring.instrument.items[item_place];
  if (!reading.level) return std::nullopt;
  std::optional<Borderline> found;
  const auto note = [&](std::size_t axis, double value, const Cut& cut, std::optional<std::size_t> other) {
    if (!found && other && other != reading.level)
      found = Borderline{item.observe[axis], value, cut.at, *other};
  };
  if (reading.mean) {
    const auto& values = reading.mean->values;
    for_each_near_cut(scoring, item_place, values, [&](std::size_t axis, const Cut& cut) {
      auto moved = values;
      moved[axis] = across(values[axis], cut);
      const auto possible = made_possible(scoring, item_place, std::move(moved));
      if (!possible) return;
      auto other = read_trial(scoring, item_place, *possible).level;
      if (other && reading.left_out_of_mean > 0) {
        const std::size_t price = reading.left_out_of_mean * item.trials.spoilt->less;
        other = level_of_merit(item, merit(item, *other) > price ? merit(item, *other) - price : 0);
      }
      note(axis, values[axis], cut, other);
    });
    return found;
  }
  for (const TrialReading& one : reading.trials)
    for_each_near_cut(scoring, item_place, one.values, [&](std::size_t axis, const Cut& cut) {
      auto moved = one.values;
      moved[axis] = across(one.values[axis], cut);
      const auto possible = made_possible(scoring, item_place, std::move(moved));
      if (!possible) return;
      std::vector<SeenTrial> changed(trials.begin(), trials.end());
      changed[one.trial].seen.values = *possible;
      note(axis, one.values[axis], cut, read_plainly(scoring, item_place, changed).level);
    });
  return found;
}

}  // namespace

const TrialReading* ItemReading::deciding() const {
  if (mean) return &*mean;
  return counts ? &trials[*counts] : nullptr;
}

bool ItemReading::gray() const {
  const TrialReading* reading = deciding();
  return reading && !reading->rulings.empty();
}

TrialReading read_trial(const Scoring& scoring, std::size_t item_place, std::span<const double> values) {
  const Item& item = scoring.instrument.items[item_place];
  const Classification& classification = scoring.items[item_place];
  TrialReading reading;
  reading.values.assign(values.begin(), values.end());
  reading.cell = classification.partition.cell_of(values);
  const Cell& cell = classification.cells[reading.cell];
  reading.kind = cell.kind;
  if (item.measured) {
    reading.number = values[*axis_of(item, item.measured->observation)];
    return reading;
  }
  if (cell.level < 0) return reading;
  reading.level = static_cast<std::size_t>(cell.level);
  reading.rulings = chain_of(classification, reading.cell);
  const std::size_t found = merit(item, *reading.level);
  if (found + 1 < item.levels.size())
    reading.next = nearest_clause(scoring.instrument, item, level_of_merit(item, found + 1), values);
  return reading;
}

ItemReading read_item(const Scoring& scoring, std::size_t item_place, std::span<const SeenTrial> trials) {
  ItemReading reading = read_plainly(scoring, item_place, trials);
  reading.borderline = borderline_of(scoring, item_place, trials, reading);
  return reading;
}

}  // namespace evenhand::instrument
