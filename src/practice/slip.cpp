#include "practice/slip.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "instrument/observe.hpp"
#include "instrument/reason.hpp"

namespace evenhand::practice {
namespace {

using namespace instrument;

class Namer {
 public:
  Namer(const Scoring& scoring, std::size_t item, const cases::ItemKey& key, const Answer& answer)
      : scoring_(scoring),
        item_place_(item),
        item_(scoring.instrument.items[item]),
        classification_(scoring.items[item]),
        key_(key),
        answer_(answer) {}

  std::vector<NamedSlip> run() {
    const TrialReading* deciding = key_.reading.deciding();
    if (!key_.level || !answer_.level || deciding == nullptr || key_.skip_rule) return {};
    const bool agrees = answer_.level == key_.level;
    seen_ = written_down();
    const TrialReading* meant = key_.reading.mean ? deciding : meant_trial(*deciding);
    if (meant != deciding) wrong_trial(*deciding, *meant);
    if (!seen_.empty()) {
      saw_it_wrong(*meant);
      read_the_rule_wrong();
    }
    if (agrees && std::ranges::any_of(slips_, changes_level))
      // A reading within the tolerance, beyond a limit, is no slip by itself: then one slip stands alone.
      slips_.insert(
          slips_.begin(),
          {Slip::right_for_wrong_reason,
           slips_.size() > 1 ? "The score is right, but not for this reason: two slips cancel."
                             : "The score is right, but it does not follow from what you wrote down."});
    if (!agrees && key_.gray()) gray_zone(*deciding);
    return std::move(slips_);
  }

 private:
  /// By itself it would have led to another level: an agreement in spite of it is luck.
  static bool changes_level(const NamedSlip& named) {
    return named.slip == Slip::wrong_trial || named.slip == Slip::read_the_rule_wrong;
  }

  std::vector<double> written_down() const {
    if (answer_.seen.empty()) return {};
    const auto all = complete(scoring_, item_place_, answer_.seen);
    return all ? all->values : std::vector<double>{};
  }

  /// Nobody stated it, and which of several usual values it is follows from the rest (how a hold of that
  /// length ends): no sighting of its own.
  bool follows_from_the_rest(std::size_t axis, double truth) const {
    const auto& usual = scoring_.instrument.observations[item_.observe[axis]].usual;
    return !answer_.seen[axis] && usual.size() > 1 && std::ranges::find(usual, truth) != usual.end();
  }

  bool differs(std::size_t axis, double a, double b) const {
    const Observation& observation = scoring_.instrument.observations[item_.observe[axis]];
    if (observation.is_number()) return std::abs(a - b) > seen_right_within(observation) + 1e-9;
    return classification_.partition.class_of(axis, a) != classification_.partition.class_of(axis, b);
  }

  /// Numbers that were written down lie near those of the trial.
  bool numbers_fit(const TrialReading& trial) const {
    for (std::size_t axis = 0; axis < item_.observe.size(); ++axis)
      if (scoring_.instrument.observations[item_.observe[axis]].is_number() &&
          differs(axis, seen_[axis], trial.values[axis]))
        return false;
    return true;
  }

  const TrialReading* meant_trial(const TrialReading& deciding) const {
    const auto& trials = key_.reading.trials;
    if (answer_.trial) {
      for (const TrialReading& one : trials)
        if (one.trial == *answer_.trial) return &one;
      return &deciding;
    }
    if (seen_.empty() || answer_.level == key_.level || numbers_fit(deciding)) return &deciding;
    for (const TrialReading& one : trials)
      if (&one != &deciding && one.way == deciding.way && one.level == answer_.level && numbers_fit(one))
        return &one;
    return &deciding;
  }

  void wrong_trial(const TrialReading& deciding, const TrialReading& meant) {
    if (meant.level == deciding.level) return;
    slips_.push_back(
        {Slip::wrong_trial,
         fmt::format("You scored trial {}; trial {} counts, as level {}.", meant.trial + 1,
                     deciding.trial + 1, deciding.level ? item_.levels[*deciding.level].label : "?")});
  }

  std::optional<std::size_t> level_of(const std::vector<double>& values) const {
    return read_trial(scoring_, item_place_, values).level;
  }

  /// Whether seeing it so instead can change the level, in what was there or in what was written down.
  bool matters(std::size_t axis, const TrialReading& trial) const {
    auto there = trial.values, written = seen_;
    there[axis] = seen_[axis];
    written[axis] = trial.values[axis];
    return level_of(there) != level_of(trial.values) || level_of(written) != level_of(seen_);
  }

  void saw_it_wrong(const TrialReading& trial) {
    std::vector<std::string> differences;
    std::vector<std::size_t> observations;
    for (std::size_t axis = 0; axis < item_.observe.size(); ++axis) {
      const Observation& observation = scoring_.instrument.observations[item_.observe[axis]];
      const double mine = seen_[axis], truth = trial.values[axis];
      if (!differs(axis, mine, truth) || follows_from_the_rest(axis, truth)) continue;
      if (!observation.is_number() && !matters(axis, trial)) continue;
      differences.push_back(fmt::format("you saw \"{}\", it was \"{}\"", value_words(observation, mine),
                                        value_words(observation, truth)));
      observations.push_back(item_.observe[axis]);
    }
    if (!differences.empty())
      slips_.push_back({Slip::saw_it_wrong,
                        fmt::format("Seen otherwise: {}.{}", fmt::join(differences, "; "),
                                    level_of(seen_) == trial.level ? " The level is the same." : ""),
                        std::move(observations)});
  }

  void read_the_rule_wrong() {
    const TrialReading reading = read_trial(scoring_, item_place_, seen_);
    // The mean at the price of a spoilt trial follows from more than the mean itself.
    if (!reading.level || reading.level == answer_.level || key_.reading.left_out_of_mean > 0) return;
    const Level& follows = item_.levels[*reading.level];
    slips_.push_back({Slip::read_the_rule_wrong,
                      reading.rulings.empty()
                          ? fmt::format("From what you saw follows level {}: {}", follows.label, follows.says)
                          : fmt::format("From what you saw follows level {}, by {}.", follows.label,
                                        ruling_words(reading))});
  }

  void gray_zone(const TrialReading& deciding) {
    slips_.push_back(
        {Slip::gray_zone, fmt::format("The criteria leave this open; {} decides.", ruling_words(deciding))});
  }

  std::string ruling_words(const TrialReading& reading) const {
    const Ruling& ruling = classification_.rulings[reading.rulings.front()];
    return fmt::format("ruling {} ({})", ruling.id, tier_words(ruling.tier));
  }

  const Scoring& scoring_;
  std::size_t item_place_;
  const Item& item_;
  const Classification& classification_;
  const cases::ItemKey& key_;
  const Answer& answer_;
  std::vector<double> seen_;  // parallel to the item's `observe`; empty: nothing was written down
  std::vector<NamedSlip> slips_;
};

}  // namespace

double seen_right_within(const Observation& observation) {
  if (observation.kind == Kind::duration) return seen_right_seconds;
  if (observation.kind == Kind::length)
    return observation.unit == document::Unit::inch ? seen_right_centimeters / 2.54 : seen_right_centimeters;
  return 0.0;
}

std::vector<NamedSlip> slips_of(const Scoring& scoring, std::size_t item, const cases::ItemKey& key,
                                const Answer& answer) {
  return Namer(scoring, item, key, answer).run();
}

std::string words(Slip slip) {
  switch (slip) {
    case Slip::wrong_trial:
      return "wrong trial";
    case Slip::saw_it_wrong:
      return "saw it wrong";
    case Slip::read_the_rule_wrong:
      return "read the rule wrong";
    case Slip::right_for_wrong_reason:
      return "right for the wrong reason";
    case Slip::gray_zone:
      break;
  }
  return "gray zone";
}

}  // namespace evenhand::practice
