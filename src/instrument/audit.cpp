#include "instrument/audit.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::instrument {
namespace {

/// The class of an axis in words.
std::string class_words(const Axis& axis, const Observation& observation, std::size_t place) {
  Constraint constraint;
  constraint.observation = axis.observation;
  if (observation.is_number()) {
    if (place > 0) constraint.low = axis.cuts[place - 1];
    if (place < axis.cuts.size()) constraint.high = axis.cuts[place];
  } else {
    for (std::size_t value = 0; value < observation.values.size(); ++value)
      if (axis.class_of[value] == place) constraint.values.push_back(value);
  }
  return words(constraint, observation);
}

std::string tag(const Ruling& ruling) { return fmt::format("ruling `{}`", ruling.id); }

class Auditor {
 public:
  Auditor(const Scoring& scoring, std::size_t item, document::Faults& faults)
      : scoring_(scoring),
        item_place_(item),
        item_(scoring.instrument.items[item]),
        classification_(scoring.items[item]),
        faults_(faults) {}

  void run() {
    contradictions();
    circles();
    for (std::size_t r = 0; r < classification_.rulings.size(); ++r) one(r);
    unusual();
    unreached();
    unordered();
  }

 private:
  void contradictions() {
    for (const Conflict& conflict : classification_.conflicts) {
      const Ruling& first = classification_.rulings[conflict.first];
      const Ruling& second = classification_.rulings[conflict.second];
      faults_.add(second.at,
                  fmt::format("item {}: {} and {} give different levels where they meet ({})", item_.id,
                              tag(first), tag(second), cell_words(scoring_, item_place_, conflict.example)),
                  "there is no order among them: narrow one of the two");
    }
  }

  void circles() {
    for (const auto& loop : classification_.loops) {
      std::vector<std::string> names;
      for (const std::size_t r : loop) names.push_back(classification_.rulings[r].id);
      faults_.add(
          classification_.rulings[loop.front()].at,
          fmt::format("item {}: the `as_if` of {} leads back to where it began", item_.id, joined(names)),
          "let it change a fact that takes the performance out of the ruling");
    }
  }

  void one(std::size_t r) {
    const Ruling& ruling = classification_.rulings[r];
    const RulingUse& use = classification_.uses[r];
    if (ruling.tier == Tier::fallback) return;
    // A general ruling need not find anything in every item.
    if (ruling.tier != Tier::general && use.region == 0) {
      faults_.add(ruling.at, fmt::format("item {}: {} is about what cannot be seen", item_.id, tag(ruling)),
                  "take it out, or narrow `impossible`");
      return;
    }
    if (ruling.settled) {
      if (use.contradicted > 0)
        faults_.add(ruling.at,
                    fmt::format("item {}: {} says that the words settle it as level {}, but they do not ({})",
                                item_.id, tag(ruling), ruling.level.value_or("?"),
                                cell_words(scoring_, item_place_, *use.contradiction)),
                    "leave out `settled`, or narrow it to what is settled so");
      return;
    }
    if (use.unanswered > 0)
      faults_.add(ruling.at,
                  fmt::format("item {}: {} looks up a performance that has no level ({})", item_.id,
                              tag(ruling), cell_words(scoring_, item_place_, *use.without_answer)),
                  "change the facts of `as_if`, or give a level");
    if (ruling.tier != Tier::general && use.gray == 0)
      faults_.add(ruling.at,
                  fmt::format("item {}: {} answers nothing: the criteria settle all of its situations",
                              item_.id, tag(ruling)),
                  "take it out, or mark it `settled: yes`");
  }

  /// What is taken when nothing is stated must be possible with something.
  void unusual() {
    const Partition& partition = classification_.partition;
    for (std::size_t place = 0; place < partition.axes().size(); ++place) {
      const Observation& observation = scoring_.instrument.observations[item_.observe[place]];
      std::uint64_t usual = 0, seen = 0;
      for (const double value : observation.usual)
        usual |= std::uint64_t{1} << partition.class_of(place, value);
      for (std::size_t cell = 0; cell < classification_.cells.size(); ++cell)
        if (classification_.cells[cell].kind != CellKind::impossible)
          seen |= std::uint64_t{1} << partition.class_in(cell, place);
      if (usual != 0 && (usual & seen) == 0)
        faults_.add(
            item_.at,
            fmt::format("item {}: the usual value of `{}` cannot be seen here", item_.id, observation.id),
            "add a usual value that can, or narrow `impossible`");
    }
  }

  void unreached() {
    for (std::size_t level = 0; level < item_.levels.size(); ++level)
      if (std::ranges::none_of(classification_.cells,
                               [&](const Cell& cell) { return cell.level == static_cast<int>(level); }))
        faults_.add(
            item_.levels[level].at,
            fmt::format("item {}: no performance reaches level {}", item_.id, item_.levels[level].label),
            "widen its conditions, or narrow those of the levels that claim the same");
  }

  void unordered() {
    const auto breaks = breaks_of(scoring_, item_place_);
    if (breaks.empty()) return;
    const Break& first = breaks.front();
    const auto label = [&](std::size_t cell) {
      return item_.levels[static_cast<std::size_t>(classification_.cells[cell].level)].label;
    };
    faults_.add(
        item_.at,
        fmt::format(
            "item {}: a better performance gets a lower level in {} places, first: {} is level {}, but {} is "
            "level {}",
            item_.id, breaks.size(), cell_words(scoring_, item_place_, first.worse), label(first.worse),
            cell_words(scoring_, item_place_, first.better), label(first.better)),
        "rule on one of the two");
  }

  const Scoring& scoring_;
  std::size_t item_place_;
  const Item& item_;
  const Classification& classification_;
  document::Faults& faults_;
};

/// General rulings that speak in no item at all.
void idle_general_rulings(const Scoring& scoring, document::Faults& faults) {
  for (const Ruling& general : scoring.instrument.general) {
    const bool speaks = std::ranges::any_of(scoring.items, [&](const Classification& classification) {
      for (std::size_t r = 0; r < classification.rulings.size(); ++r) {
        const Ruling& ruling = classification.rulings[r];
        const RulingUse& use = classification.uses[r];
        if (ruling.tier == Tier::general && ruling.id == general.id &&
            (general.settled ? use.region : use.gray) > 0)
          return true;
      }
      return false;
    });
    if (!speaks)
      faults.add(general.at, fmt::format("{} answers nothing in any item", tag(general)),
                 "take it out, or widen `when`");
  }
}

}  // namespace

std::string cell_words(const Scoring& scoring, std::size_t item, std::size_t cell) {
  const Partition& partition = scoring.items[item].partition;
  std::vector<std::string> parts;
  for (std::size_t place = 0; place < partition.axes().size(); ++place) {
    const Axis& axis = partition.axes()[place];
    if (axis.size == 1) continue;
    parts.push_back(class_words(axis, scoring.instrument.observations[axis.observation],
                                partition.class_in(cell, place)));
  }
  return fmt::format("{}", fmt::join(parts, "; "));
}

std::vector<Break> breaks_of(const Scoring& scoring, std::size_t item_place) {
  const Item& item = scoring.instrument.items[item_place];
  const Classification& classification = scoring.items[item_place];
  const Partition& partition = classification.partition;
  const auto has_level = [&](std::size_t cell) { return classification.cells[cell].level >= 0; };
  const auto merit_at = [&](std::size_t cell) {
    return merit(item, static_cast<std::size_t>(classification.cells[cell].level));
  };
  std::vector<Break> breaks;
  for (std::size_t cell = 0; cell < classification.cells.size(); ++cell) {
    if (!has_level(cell)) continue;
    for (std::size_t place = 0; place < partition.axes().size(); ++place) {
      const Axis& axis = partition.axes()[place];
      if (axis.sense == Sense::none) continue;
      // Better classes may be impossible in between: look at all of them, not only at the next.
      const std::size_t own = partition.class_in(cell, place);
      for (std::size_t c = 0; c < axis.size; ++c) {
        const bool is_better = axis.sense == Sense::rising ? c > own : c < own;
        if (!is_better) continue;
        const std::size_t other = partition.moved(cell, place, c);
        if (has_level(other) && merit_at(other) < merit_at(cell))
          breaks.push_back({item_place, cell, other, place});
      }
    }
  }
  return breaks;
}

void audit(const Scoring& scoring, document::Faults& faults) {
  for (std::size_t item = 0; item < scoring.instrument.items.size(); ++item)
    if (!scoring.instrument.items[item].measured) Auditor(scoring, item, faults).run();
  idle_general_rulings(scoring, faults);
}

GrayShare gray_share(const Classification& classification) {
  GrayShare share;
  for (const Cell& cell : classification.cells) {
    if (cell.kind == CellKind::impossible) continue;
    ++share.possible;
    share.open += cell.kind == CellKind::open;
    share.several += cell.kind == CellKind::several;
    share.unruled += cell.gray() && cell.level < 0;
  }
  return share;
}

}  // namespace evenhand::instrument
