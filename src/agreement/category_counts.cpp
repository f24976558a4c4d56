#include "agreement/category_counts.hpp"

#include <algorithm>
#include <cassert>

#include "agreement/columns.hpp"

namespace evenhand::agreement {

Placings placings(const Columns& columns) {
  return {columns.places, columns.raters, columns.cases, columns.scale.size()};
}

CategoryCounts CategoryCounts::of(const Placings& placings) {
  CategoryCounts counts(placings.categories);
  counts.ends_.reserve(placings.cases);
  counts.ratings_.reserve(placings.cases);
  std::vector<std::uint32_t> times(placings.categories);
  std::vector<std::uint32_t> given;  // categories with times above 0
  for (std::size_t c = 0; c < placings.cases; ++c) {
    given.clear();
    for (std::size_t r = 0; r < placings.raters; ++r) {
      const std::int32_t place = placings.at(r, c);
      if (place < 0) continue;
      if (times[static_cast<std::size_t>(place)]++ == 0) given.push_back(static_cast<std::uint32_t>(place));
    }
    std::sort(given.begin(), given.end());
    for (const std::uint32_t category : given) {
      counts.counts_.push_back({category, times[category]});
      times[category] = 0;
    }
    counts.close_case();
  }
  return counts;
}

void CategoryCounts::add(std::span<const std::size_t> ratings) {
  assert(ratings.size() == categories_);
  for (std::size_t k = 0; k < ratings.size(); ++k)
    if (ratings[k])
      counts_.push_back({static_cast<std::uint32_t>(k), static_cast<std::uint32_t>(ratings[k])});
  close_case();
}

void CategoryCounts::close_case() {
  const std::size_t begin = ends_.empty() ? 0 : ends_.back();
  std::uint32_t ratings = 0;
  for (std::size_t i = begin; i < counts_.size(); ++i) ratings += counts_[i].ratings;
  ends_.push_back(counts_.size());
  ratings_.push_back(ratings);
}

std::span<const CategoryCounts::Count> CategoryCounts::at(std::size_t case_) const {
  const std::size_t begin = case_ == 0 ? 0 : ends_[case_ - 1];
  return std::span(counts_).subspan(begin, ends_[case_] - begin);
}

std::vector<std::size_t> CategoryCounts::totals() const {
  std::vector<std::size_t> totals(categories_);
  for (const Count& count : counts_) totals[count.category] += count.ratings;
  return totals;
}

ValuedCounts counts_of(const RatingTable& table) {
  std::vector<double> values;
  values.reserve(table.cases() * table.raters());
  for (std::size_t c = 0; c < table.cases(); ++c)
    for (std::size_t r = 0; r < table.raters(); ++r)
      if (const auto score = table.at(c, r)) values.push_back(*score);
  std::sort(values.begin(), values.end());
  values.erase(std::unique(values.begin(), values.end()), values.end());

  std::vector<std::int32_t> places(table.cases() * table.raters(), -1);
  for (std::size_t c = 0; c < table.cases(); ++c)
    for (std::size_t r = 0; r < table.raters(); ++r)
      if (const auto score = table.at(c, r))
        places[r * table.cases() + c] = static_cast<std::int32_t>(
            std::lower_bound(values.begin(), values.end(), *score) - values.begin());
  CategoryCounts counts = CategoryCounts::of({places, table.raters(), table.cases(), values.size()});
  return {std::move(values), std::move(counts)};
}

}  // namespace evenhand::agreement
