#include "instrument/instrument.hpp"

#include <algorithm>

namespace evenhand::instrument {
namespace {

template <class List, class Matches>
std::optional<std::size_t> place(const List& list, Matches matches) {
  const auto found = std::ranges::find_if(list, matches);
  if (found == list.end()) return std::nullopt;
  return static_cast<std::size_t>(found - list.begin());
}

}  // namespace

std::optional<std::size_t> item_named(const Instrument& instrument, std::string_view id) {
  return place(instrument.items, [&](const Item& item) { return item.id == id; });
}

std::optional<std::size_t> level_named(const Item& item, std::string_view label) {
  return place(item.levels, [&](const Level& level) { return level.label == label; });
}

std::optional<std::size_t> observation_named(const Instrument& instrument, std::string_view id) {
  return place(instrument.observations, [&](const Observation& each) { return each.id == id; });
}

std::optional<std::size_t> axis_of(const Item& item, std::size_t observation) {
  return place(item.observe, [&](std::size_t each) { return each == observation; });
}

std::size_t merit(const Item& item, std::size_t level) {
  return item.high_is_better ? item.levels.size() - 1 - level : level;
}

std::size_t level_of_merit(const Item& item, std::size_t merit) {
  return item.high_is_better ? item.levels.size() - 1 - merit : merit;
}

ErrorBand error_band(const Instrument& instrument, const Observation& observation) {
  switch (observation.kind) {
    case Kind::duration:
      return instrument.duration_error;
    case Kind::angle:
      return instrument.angle_error;
    case Kind::length: {
      const double unit = observation.unit == document::Unit::inch ? 2.54 : 1.0;
      return {.below = instrument.length_error.below / unit, .above = instrument.length_error.above / unit};
    }
    default:
      return {};
  }
}

}  // namespace evenhand::instrument
