#include "instrument/pooled.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace evenhand::instrument {
namespace {

/// Binary fractions make the mean of 3.2, 4.9 and 6.9 a hair less than 5; a billionth is below every
/// resolution.
double mean_of_numbers(double sum, std::size_t n) {
  return std::round(sum / static_cast<double>(n) * 1e9) / 1e9;
}

const Cut& top_cut(const Axis& axis, Better better) {
  return better == Better::more ? axis.cuts.back() : axis.cuts.front();
}

/// The number that a mean of several counts as; see `read_item`.
double mean_number(const Axis& axis, Better better, const std::vector<double>& numbers) {
  if (!cap_of_mean(axis, better, numbers))
    return mean_of_numbers(std::accumulate(numbers.begin(), numbers.end(), 0.0), numbers.size());
  const bool more = better == Better::more;
  const Cut& top = top_cut(axis, better);
  const auto past = [&](double number) { return above(number, top) == more; };
  // The mean of numbers that are all past the threshold is past it too.
  if (std::ranges::all_of(numbers, past)) return more ? std::ranges::min(numbers) : std::ranges::max(numbers);
  double sum = 0.0;
  for (const double number : numbers) sum += past(number) ? top.at : number;
  return mean_of_numbers(sum, numbers.size());
}

double middle_fact(std::vector<double> places) {
  std::ranges::sort(places);
  return places[places.size() / 2];  // listed from best to worst: of two the worse
}

/// The values seen, the most frequent first, of equals the one seen first.
std::vector<double> facts_by_frequency(const std::vector<double>& places) {
  std::vector<double> distinct;
  for (const double place : places)
    if (std::ranges::find(distinct, place) == distinct.end()) distinct.push_back(place);
  std::ranges::stable_sort(distinct, std::ranges::greater{},
                           [&](double place) { return std::ranges::count(places, place); });
  return distinct;
}

bool possible(const Classification& classification, std::span<const double> values) {
  return classification.cells[classification.partition.cell_of(values)].kind != CellKind::impossible;
}

}  // namespace

std::optional<double> cap_of_mean(const Axis& axis, Better better, std::span<const double> numbers) {
  if (axis.cuts.empty() || better == Better::neither) return std::nullopt;
  const Cut& top = top_cut(axis, better);
  const bool any = std::ranges::any_of(
      numbers, [&](double number) { return above(number, top) == (better == Better::more); });
  return any ? std::optional(top.at) : std::nullopt;
}

std::optional<std::vector<double>> made_possible(const Scoring& scoring, std::size_t item_place,
                                                 std::vector<double> values) {
  const Instrument& instrument = scoring.instrument;
  const Item& item = instrument.items[item_place];
  const Classification& classification = scoring.items[item_place];
  if (possible(classification, values)) return values;
  for (std::size_t axis = 0; axis < item.observe.size(); ++axis) {
    const double kept = values[axis];
    for (const double usual : instrument.observations[item.observe[axis]].usual) {
      values[axis] = usual;
      if (possible(classification, values)) return values;
    }
    values[axis] = kept;
  }
  return std::nullopt;
}

std::vector<double> pooled(const Scoring& scoring, std::size_t item_place,
                           std::span<const std::vector<double>> trials) {
  const Instrument& instrument = scoring.instrument;
  const Item& item = instrument.items[item_place];
  const Classification& classification = scoring.items[item_place];
  std::vector<double> values;
  std::vector<std::vector<double>> others(item.observe.size());  // unordered facts: the rarer values
  for (std::size_t axis = 0; axis < item.observe.size(); ++axis) {
    std::vector<double> seen;
    for (const auto& trial : trials) seen.push_back(trial[axis]);
    const Observation& observation = instrument.observations[item.observe[axis]];
    if (observation.is_number()) {
      values.push_back(mean_number(classification.partition.axes()[axis], observation.better, seen));
    } else if (observation.kind == Kind::ordered) {
      values.push_back(middle_fact(seen));
    } else {
      others[axis] = facts_by_frequency(seen);
      values.push_back(others[axis].front());
    }
  }
  if (possible(classification, values)) return values;
  // The mean of 12, 12 and 6 s cannot end as the longer two did: then it ends as the other one.
  for (std::size_t axis = 0; axis < item.observe.size(); ++axis)
    for (const double other : others[axis]) {
      auto changed = values;
      changed[axis] = other;
      if (possible(classification, changed)) return changed;
    }
  return made_possible(scoring, item_place, values).value_or(values);
}

}  // namespace evenhand::instrument
