#include "instrument/partition.hpp"

#include <algorithm>
#include <map>

namespace evenhand::instrument {
namespace {

/// Whether some value of the domain lies on each side.
bool splits(const Cut& cut, const Observation& observation) {
  const Cut bottom{.at = observation.from, .after = false}, top{.at = observation.to, .after = true};
  return bottom < cut && cut < top;
}

Axis number_axis(const Observation& observation, std::span<const Constraint* const> constraints) {
  Axis axis;
  for (const Constraint* constraint : constraints)
    for (const auto& cut : {constraint->low, constraint->high})
      if (cut && splits(*cut, observation)) axis.cuts.push_back(*cut);
  std::ranges::sort(axis.cuts);
  axis.cuts.erase(std::unique(axis.cuts.begin(), axis.cuts.end()), axis.cuts.end());
  axis.size = axis.cuts.size() + 1;
  axis.sense = observation.better == Better::more   ? Sense::rising
               : observation.better == Better::less ? Sense::falling
                                                    : Sense::none;
  return axis;
}

Axis fact_axis(const Observation& observation, std::span<const Constraint* const> constraints) {
  Axis axis;
  // Two values share a class when every constraint treats them alike. Classes of ordered facts are runs of
  // neighbors: else one class could be both better and worse than another.
  const auto alike = [&](std::size_t a, std::size_t b) {
    return std::ranges::all_of(constraints, [&](const Constraint* constraint) {
      const auto& values = constraint->values;
      return std::ranges::binary_search(values, a) == std::ranges::binary_search(values, b);
    });
  };
  std::size_t classes = 0;
  for (std::size_t value = 0; value < observation.values.size(); ++value) {
    std::size_t same = value;
    if (observation.kind == Kind::ordered) {
      if (value > 0 && alike(value - 1, value)) same = value - 1;
    } else {
      for (std::size_t other = 0; other < value && same == value; ++other)
        if (alike(other, value)) same = other;
    }
    axis.class_of.push_back(same == value ? classes++ : axis.class_of[same]);
  }
  axis.size = classes;
  axis.sense = observation.kind == Kind::ordered ? Sense::falling : Sense::none;
  return axis;
}

}  // namespace

Result<Partition> Partition::make(const Instrument& instrument, const Item& item,
                                  std::span<const Region* const> regions) {
  std::map<std::size_t, std::vector<const Constraint*>> constraints;
  for (const Region* region : regions)
    for (const auto& clause : *region)
      for (const auto& constraint : clause.constraints)
        constraints[constraint.observation].push_back(&constraint);

  Partition partition;
  partition.axis_of_.assign(instrument.observations.size(), item.observe.size());
  for (const std::size_t place : item.observe) {
    const Observation& observation = instrument.observations[place];
    const auto& named = constraints[place];
    Axis axis = observation.is_number() ? number_axis(observation, named) : fact_axis(observation, named);
    axis.observation = place;
    if (axis.size > most_classes)
      return fail(Errc::invalid, "item `{}`: the conditions split `{}` into {} parts, more than {}", item.id,
                  observation.id, axis.size, most_classes);
    partition.cells_ *= axis.size;
    if (partition.cells_ > most_cells)
      return fail(Errc::invalid, "item `{}`: the conditions split what is observed into more than {} cells",
                  item.id, most_cells);
    partition.axis_of_[place] = partition.axes_.size();
    partition.number_.push_back(observation.is_number());
    partition.axes_.push_back(std::move(axis));
  }
  partition.strides_.assign(partition.axes_.size(), 1);
  for (std::size_t i = partition.axes_.size(); i-- > 1;)
    partition.strides_[i - 1] = partition.strides_[i] * partition.axes_[i].size;
  return partition;
}

std::size_t Partition::class_of(std::size_t axis, double value) const {
  const Axis& a = axes_[axis];
  if (!number_[axis]) return a.class_of[static_cast<std::size_t>(value)];
  const auto first_above =
      std::ranges::partition_point(a.cuts, [&](const Cut& cut) { return above(value, cut); });
  return static_cast<std::size_t>(first_above - a.cuts.begin());
}

std::size_t Partition::cell_of(std::span<const double> values) const {
  std::size_t cell = 0;
  for (std::size_t axis = 0; axis < axes_.size(); ++axis)
    cell += class_of(axis, values[axis]) * strides_[axis];
  return cell;
}

std::uint64_t Partition::classes(const Constraint& constraint) const {
  const std::size_t place = axis_of_[constraint.observation];
  const Axis& axis = axes_[place];
  std::uint64_t bits = 0;
  if (!number_[place]) {
    for (const std::size_t value : constraint.values) bits |= std::uint64_t{1} << axis.class_of[value];
    return bits;
  }
  for (std::size_t c = 0; c < axis.size; ++c) {
    // Class c ends where cut c is and begins where cut c - 1 is.
    const bool above_low = !constraint.low || c == axis.size - 1 || axis.cuts[c] > *constraint.low;
    const bool below_high = !constraint.high || c == 0 || axis.cuts[c - 1] < *constraint.high;
    if (above_low && below_high) bits |= std::uint64_t{1} << c;
  }
  return bits;
}

Box Partition::box(const Clause& clause) const {
  Box box;
  for (std::size_t axis = 0; axis < axes_.size(); ++axis) box.classes.push_back(all(axis));
  for (const auto& constraint : clause.constraints)
    box.classes[axis_of_[constraint.observation]] &= classes(constraint);
  return box;
}

std::uint64_t Partition::all(std::size_t axis) const {
  const std::size_t size = axes_[axis].size;
  return size == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << size) - 1;
}

bool Partition::contains(const Box& box, std::size_t cell) const {
  for (std::size_t axis = 0; axis < axes_.size(); ++axis)
    if (!(box.classes[axis] >> class_in(cell, axis) & 1U)) return false;
  return true;
}

}  // namespace evenhand::instrument
