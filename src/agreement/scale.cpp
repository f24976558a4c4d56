#include "agreement/scale.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>
#include <string_view>
#include <utility>

namespace evenhand::agreement {
namespace {

std::optional<double> number(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc() || end != text.data() + text.size() || !std::isfinite(value))
    return {};
  return value;
}

/// The numbers the labels are; nothing when one of them is no number.
std::optional<std::vector<double>> numbers(const std::vector<std::string>& labels) {
  std::vector<double> values;
  values.reserve(labels.size());
  for (const auto& label : labels) {
    const auto value = number(label);
    if (!value) return {};
    values.push_back(*value);
  }
  return values;
}

template <class T>
std::optional<T> repeated(std::vector<T> values) {
  std::sort(values.begin(), values.end());
  const auto twice = std::adjacent_find(values.begin(), values.end());
  return twice == values.end() ? std::nullopt : std::optional<T>(*twice);
}

Level told_from(const std::optional<std::vector<double>>& values) {
  if (!values) return Level::nominal;
  const bool whole = std::all_of(values->begin(), values->end(), [](double v) { return v == std::floor(v); });
  return whole ? Level::ordinal : Level::interval;
}

}  // namespace

Result<Scale> make_scale(std::vector<std::string> categories, std::optional<Level> level) {
  if (categories.empty()) return fail(Errc::invalid, "no category: there is no score");
  if (const auto twice = repeated(categories))
    return fail(Errc::invalid, "category '{}' stands twice", *twice);
  auto values = numbers(categories);
  if (values)
    if (const auto twice = repeated(*values))
      return fail(Errc::invalid, "two categories are the number {}: write each category in one way", *twice);
  const Level used = level.value_or(told_from(values));
  if (used == Level::interval && !values)
    return fail(
        Errc::invalid,
        "an interval scale needs numbers, but some categories are labels ({}); use the ordinal level",
        *std::find_if(categories.begin(), categories.end(), [](const auto& c) { return !number(c); }));

  const bool numeric = values.has_value();
  if (!numeric) {
    values.emplace(categories.size());
    std::iota(values->begin(), values->end(), 0.0);
  }
  return Scale{used, std::move(categories), std::move(*values), numeric};
}

}  // namespace evenhand::agreement
