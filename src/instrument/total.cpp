#include "instrument/total.hpp"

#include <algorithm>
#include <charconv>
#include <string>

namespace evenhand::instrument {
namespace {

std::optional<double> number_of(const std::string& label) {
  double number = 0.0;
  const auto [end, error] = std::from_chars(label.data(), label.data() + label.size(), number);
  if (error != std::errc{} || end != label.data() + label.size()) return std::nullopt;
  return number;
}

}  // namespace

std::optional<Total> total(const Instrument& instrument, std::span<const std::optional<std::size_t>> levels) {
  if (!instrument.total_maximum) return std::nullopt;
  Total sum;
  sum.of = instrument.items.size();
  for (std::size_t i = 0; i < instrument.items.size(); ++i) {
    if (!levels[i]) continue;
    const Item& item = instrument.items[i];
    double best = 0.0;
    for (const Level& level : item.levels) {
      const auto number = number_of(level.label);
      if (!number) return std::nullopt;
      best = std::max(best, *number);
    }
    sum.points += *number_of(item.levels[*levels[i]].label);
    sum.maximum += best;
    ++sum.items;
  }
  return sum;
}

}  // namespace evenhand::instrument
