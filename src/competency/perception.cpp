#include "competency/perception.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>

namespace evenhand::competency {
namespace {

using instrument::Item;
using instrument::Kind;
using instrument::Observation;

constexpr double centimeters_per_inch = 2.54;  // NIST SP 811, B.8

/// The trial of one item as one rater sees it.
class Eye {
 public:
  Eye(const SimulatedRater& rater, const instrument::Scoring& scoring, std::size_t item)
      : rater_(rater),
        instrument_(scoring.instrument),
        item_(scoring.instrument.items[item]),
        classification_(scoring.items[item]) {}

  Perceived see(const std::vector<double>& truth, base::Random& random) const {
    std::vector<double> numbers = read_numbers(truth, random);
    std::vector<double> facts = mistake(truth, random);
    misread(facts);
    Perceived seen{.written = combined(truth, numbers, facts), .judged = {}};
    seen.judged = judge(seen.written);
    if (impossible(seen.judged)) seen.judged = seen.written;
    return seen;
  }

 private:
  const Observation& observation(std::size_t axis) const {
    return instrument_.observations[item_.observe[axis]];
  }

  bool impossible(std::span<const double> values) const {
    if (classification_.cells.empty()) return false;
    const std::size_t cell = classification_.partition.cell_of(values);
    return classification_.cells[cell].kind == instrument::CellKind::impossible;
  }

  double error(const Observation& of, base::Random& random) const {
    switch (of.kind) {
      case Kind::duration:
        return random.normal(rater_.watch.mean, rater_.watch.sd);
      case Kind::length: {
        const double cm = random.normal(rater_.ruler.mean, rater_.ruler.sd);
        return of.unit == document::Unit::inch ? cm / centimeters_per_inch : cm;
      }
      case Kind::angle:
        return random.normal(rater_.goniometer.mean, rater_.goniometer.sd);
      default:
        return 0.0;
    }
  }

  /// As the watch or ruler shows it, and as this rater writes it down.
  double shown(const Observation& of, double value) const {
    double step = of.resolution;
    const bool rounds = std::ranges::any_of(rater_.habits, &Habit::whole_units);
    if (rounds && of.kind == Kind::duration) step = 1.0;
    if (step <= 0.0) return std::clamp(value, of.from, of.to);
    // Divided by a whole number, so that 9.87 is 9.87 to the bit.
    const double steps = std::round(value / step);
    return std::clamp(step < 1.0 ? steps / std::round(1.0 / step) : steps * step, of.from, of.to);
  }

  std::vector<double> read_numbers(const std::vector<double>& truth, base::Random& random) const {
    std::vector<double> values = truth;
    for (std::size_t axis = 0; axis < values.size(); ++axis) {
      const Observation& of = observation(axis);
      // A number at the end of its domain (nothing to time, no gap left) is not measured.
      if (!of.is_number() || of.kind == Kind::count || truth[axis] <= of.from) continue;
      values[axis] = shown(of, truth[axis] + error(of, random));
    }
    return values;
  }

  /// Now and then one fact or count is taken for a neighboring one.
  std::vector<double> mistake(const std::vector<double>& truth, base::Random& random) const {
    if (!random.chance(rater_.slip)) return truth;
    for (int attempt = 0; attempt < 8; ++attempt) {
      std::vector<double> values = truth;
      const std::size_t axis = random.index(values.size());
      const Observation& of = observation(axis);
      if (of.is_number() && of.kind != Kind::count) continue;
      values[axis] = neighbor(of, truth[axis], random);
      if (values[axis] != truth[axis] && !impossible(values)) return values;
    }
    return truth;
  }

  static double neighbor(const Observation& of, double value, base::Random& random) {
    if (of.kind == Kind::unordered) return static_cast<double>(random.index(of.values.size()));
    const double moved = value + (random.chance(0.5) ? 1.0 : -1.0);
    const double last = of.is_number() ? of.to : static_cast<double>(of.values.size()) - 1.0;
    return std::clamp(moved, of.is_number() ? of.from : 0.0, last);
  }

  std::optional<std::size_t> axis_of(const std::string& id) const {
    const auto place = instrument::observation_named(instrument_, id);
    return place ? instrument::axis_of(item_, *place) : std::nullopt;
  }

  void misread(std::vector<double>& facts) const {
    for (const Habit& habit : rater_.habits)
      for (const Misread& each : habit.misreads) apply(each, facts);
  }

  void apply(const Misread& misread, std::vector<double>& facts) const {
    const auto axis = axis_of(misread.fact);
    if (!axis) return;
    if (!misread.when.empty()) {
      const auto when = axis_of(misread.when);
      if (!when) return;
      const auto is = instrument::value_named(observation(*when), misread.is);
      if (!is || facts[*when] != static_cast<double>(*is)) return;
    }
    const Observation& of = observation(*axis);
    std::vector<double> changed = facts;
    if (misread.taken_for.empty()) {
      if (of.usual.empty()) return;
      changed[*axis] = of.usual.front();
    } else if (const auto value = instrument::value_named(of, misread.taken_for)) {
      changed[*axis] = static_cast<double>(*value);
    }
    if (!impossible(changed)) facts = changed;
  }

  /// Numbers as read with facts as seen, as far as they go together.
  std::vector<double> combined(const std::vector<double>& truth, const std::vector<double>& numbers,
                               const std::vector<double>& facts) const {
    const auto with = [&](const std::vector<double>& n, const std::vector<double>& f) {
      std::vector<double> values = f;
      for (std::size_t axis = 0; axis < values.size(); ++axis) {
        const Observation& of = observation(axis);
        if (of.is_number() && of.kind != Kind::count) values[axis] = n[axis];
      }
      return values;
    };
    for (const auto& values : {with(numbers, facts), with(truth, facts), with(numbers, truth)})
      if (!impossible(values)) return values;
    return truth;
  }

  /// Who wants clearly more than a threshold takes what is barely past it for just short of it.
  std::vector<double> judge(const std::vector<double>& written) const {
    std::vector<double> values = written;
    double wants_more = 0.0;
    for (const Habit& habit : rater_.habits) wants_more = std::max(wants_more, habit.wants_more);
    if (wants_more <= 0.0) return values;
    for (std::size_t axis = 0; axis < values.size() && !classification_.cells.empty(); ++axis)
      if (observation(axis).is_number() && observation(axis).kind != Kind::count)
        values[axis] = short_of(axis, values[axis], wants_more);
    return values;
  }

  double short_of(std::size_t axis, double value, double wants_more) const {
    const instrument::Better better = observation(axis).better;
    if (better == instrument::Better::neither) return value;
    const double sign = better == instrument::Better::more ? 1.0 : -1.0;
    for (const instrument::Cut& cut : classification_.partition.axes()[axis].cuts) {
      const double past = sign * (value - cut.at);
      if (past < 0.0 || past >= wants_more * std::abs(cut.at)) continue;
      const Observation& of = observation(axis);
      return std::clamp(cut.at - sign * std::max(of.resolution, 1e-6), of.from, of.to);
    }
    return value;
  }

  const SimulatedRater& rater_;
  const instrument::Instrument& instrument_;
  const Item& item_;
  const instrument::Classification& classification_;
};

}  // namespace

Perceived perceive(const TrueTrial& trial, const SimulatedRater& rater, const instrument::Scoring& scoring,
                   std::size_t item, base::Random& random) {
  return Eye(rater, scoring, item).see(trial.values, random);
}

}  // namespace evenhand::competency
