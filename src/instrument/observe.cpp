#include "instrument/observe.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::instrument {
namespace {

bool impossible(const Classification& classification, std::span<const double> values) {
  return classification.cells[classification.partition.cell_of(values)].kind == CellKind::impossible;
}

/// Steps through the usual values of the open axes like an odometer, the last one fastest.
bool next_combination(const Instrument& instrument, const Item& item, std::span<const std::size_t> open,
                      std::vector<std::size_t>& chosen, std::vector<double>& values) {
  for (std::size_t i = open.size(); i-- > 0;) {
    const auto& usual = instrument.observations[item.observe[open[i]]].usual;
    chosen[i] = (chosen[i] + 1) % usual.size();
    values[open[i]] = usual[chosen[i]];
    if (chosen[i] != 0) return true;
  }
  return false;
}

/// What cannot be seen together, and which of it nobody stated: that may be what has to be mended.
std::string contradiction(const Instrument& instrument, const Item& item, std::span<const double> values,
                          std::span<const std::optional<double>> stated) {
  const auto clause = std::ranges::find_if(item.impossible, [&](const Clause& one) {
    return holds(one, instrument.observations, item.observe, values);
  });
  if (clause == item.impossible.end()) return "";
  std::vector<std::string> assumed;
  for (const Constraint& constraint : clause->constraints) {
    const std::size_t axis = *axis_of(item, constraint.observation);
    const Observation& observation = instrument.observations[constraint.observation];
    if (!stated[axis])
      assumed.push_back(fmt::format("`{}` ({})", observation.id, value_words(observation, values[axis])));
  }
  const std::string together = words(*clause, instrument.observations);
  if (assumed.empty()) return together;
  return fmt::format("{}; {} {} not stated and taken as usual: state {} too", together, joined(assumed),
                     assumed.size() == 1 ? "was" : "were", assumed.size() == 1 ? "it" : "them");
}

}  // namespace

Result<Observed> complete(const Scoring& scoring, std::size_t item_place,
                          std::span<const std::optional<double>> stated) {
  const Instrument& instrument = scoring.instrument;
  const Item& item = instrument.items[item_place];
  const Classification& classification = scoring.items[item_place];
  Observed observed;
  std::vector<std::size_t> open;
  for (std::size_t axis = 0; axis < item.observe.size(); ++axis) {
    const Observation& observation = instrument.observations[item.observe[axis]];
    if (const auto& value = stated[axis]) {
      observed.values.push_back(*value);
      continue;
    }
    if (observation.usual.empty())
      return fail(Errc::invalid, "`{}` must be stated: {}", observation.id, observation.ask);
    observed.values.push_back(observation.usual.front());
    observed.taken_as_usual.push_back(axis);
    if (observation.usual.size() > 1) open.push_back(axis);
  }
  std::vector<std::size_t> chosen(open.size(), 0);
  const std::vector<double> first = observed.values;
  while (impossible(classification, observed.values)) {
    if (!next_combination(instrument, item, open, chosen, observed.values))
      return fail(Errc::invalid, "these cannot be seen together: {}",
                  contradiction(instrument, item, first, stated));
  }
  return observed;
}

Result<Observed> observe(const Scoring& scoring, std::size_t item_place,
                         std::span<const std::pair<std::string, std::string>> named, BareNumbers bare) {
  const Instrument& instrument = scoring.instrument;
  const Item& item = instrument.items[item_place];
  std::vector<std::optional<double>> stated(item.observe.size());
  for (const auto& [name, text] : named) {
    const auto axis = std::ranges::find_if(
        item.observe, [&](std::size_t place) { return instrument.observations[place].id == name; });
    if (axis == item.observe.end()) {
      std::vector<std::string> known;
      for (const std::size_t place : item.observe) known.push_back(instrument.observations[place].id);
      return fail(Errc::invalid, "`{}` is not observed in item {}; {}", name, item.id, offer(name, known));
    }
    auto& slot = stated[static_cast<std::size_t>(axis - item.observe.begin())];
    if (slot) return fail(Errc::invalid, "`{}` is stated twice", name);
    const auto value = read_value(instrument.observations[*axis], text, bare);
    if (!value) return tl::unexpected(value.error());
    slot = *value;
  }
  return complete(scoring, item_place, stated);
}

bool can_be_seen(const Scoring& scoring, std::size_t item, std::size_t axis, double value) {
  const Classification& classification = scoring.items[item];
  const std::size_t wanted = classification.partition.class_of(axis, value);
  for (std::size_t cell = 0; cell < classification.cells.size(); ++cell)
    if (classification.cells[cell].kind != CellKind::impossible &&
        classification.partition.class_in(cell, axis) == wanted)
      return true;
  return false;
}

}  // namespace evenhand::instrument
