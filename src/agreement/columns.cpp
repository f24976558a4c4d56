#include "agreement/columns.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "agreement/agreement.hpp"

namespace evenhand::agreement {
namespace {

constexpr double same_share = 1e-12;      // sums of decimals that differ by less are one sum
constexpr double most_listed_sums = 1e4;  // a longer list of possible sums is cut to those that occur

/// A sum for every (rater, case) in order; nothing where an item has no score.
std::vector<std::optional<double>> sums_of(const ScoreMatrix& scores, const Scale& scale) {
  const std::size_t cells = scores.raters.size() * scores.cases.size();
  std::vector<std::optional<double>> sums(cells, 0.0);
  for (std::size_t item = 0; item < scores.items.size(); ++item)
    for (std::size_t cell = 0; cell < cells; ++cell) {
      const std::int32_t place = scores.cells[item * cells + cell].category;
      auto& sum = sums[cell];
      if (place < 0)
        sum.reset();
      else if (sum)
        *sum += scale.values[static_cast<std::size_t>(place)];
    }
  return sums;
}

bool consecutive(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  for (std::size_t i = 0; i < values.size(); ++i)
    if (values[i] != std::floor(values[i]) || (i > 0 && values[i] != values[i - 1] + 1.0)) return false;
  return true;
}

/// Every sum that can occur when the categories are whole numbers without a gap: weights go by
/// place in the list, so a sum nobody had must keep its place. Else the sums that did occur.
std::vector<double> sum_categories(const std::vector<std::optional<double>>& sums, const Scale& scale,
                                   std::size_t items) {
  const auto [low, high] = std::minmax_element(scale.values.begin(), scale.values.end());
  const auto n = static_cast<double>(items);
  std::vector<double> list;
  if (consecutive(scale.values) && n * (*high - *low) < most_listed_sums) {
    const auto steps = static_cast<std::size_t>(n * (*high - *low));
    for (std::size_t step = 0; step <= steps; ++step) list.push_back(n * *low + static_cast<double>(step));
    return list;
  }
  for (const auto& sum : sums)
    if (sum) list.push_back(*sum);
  std::sort(list.begin(), list.end());
  const auto same = [](double a, double b) {
    return b - a <= same_share * std::max(std::abs(a), std::abs(b));
  };
  list.erase(std::unique(list.begin(), list.end(), same), list.end());
  return list;
}

std::int32_t place_of(double sum, const std::vector<double>& list) {
  const auto above = std::upper_bound(list.begin(), list.end(), sum);
  const auto at = above == list.begin() ? above : above - 1;
  return static_cast<std::int32_t>(at - list.begin());
}

}  // namespace

Columns item_columns(const ScoreMatrix& scores, const Scale& scale, std::size_t item) {
  Columns columns{scale, scores.raters.size(), scores.cases.size(), {}};
  const std::size_t cells = columns.raters * columns.cases;
  columns.places.reserve(cells);
  for (std::size_t cell = 0; cell < cells; ++cell) {
    const auto& [category, filled] = scores.cells[item * cells + cell];
    columns.places.push_back(filled ? -1 : category);
  }
  return columns;
}

std::optional<Columns> total_columns(const ScoreMatrix& scores, const Scale& scale) {
  if (!scale.has_distances()) return {};
  const auto sums = sums_of(scores, scale);
  Columns columns{{Level::interval, {}, sum_categories(sums, scale, scores.items.size()), true},
                  scores.raters.size(),
                  scores.cases.size(),
                  {}};
  for (const double sum : columns.scale.values) columns.scale.categories.push_back(fmt::format("{}", sum));
  columns.places.reserve(sums.size());
  for (const auto& sum : sums) columns.places.push_back(sum ? place_of(*sum, columns.scale.values) : -1);
  return columns;
}

std::vector<KeyedScore> keyed_scores(const Columns& columns, std::size_t key) {
  std::vector<KeyedScore> result;
  result.reserve(columns.places.size());
  const auto keys = columns.of(key);
  for (std::size_t rater = 0; rater < columns.raters; ++rater) {
    if (rater == key) continue;
    const auto places = columns.of(rater);
    for (std::size_t i = 0; i < columns.cases; ++i)
      if (keys[i] >= 0 && places[i] >= 0)
        result.push_back({static_cast<std::uint32_t>(i), keys[i], places[i]});
  }
  return result;
}

}  // namespace evenhand::agreement
