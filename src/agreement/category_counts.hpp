#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "agreement/rating_table.hpp"

namespace evenhand::agreement {

struct Columns;

/// Which category (its place in the list) each rater gave each case. A view: owns nothing.
struct Placings {
  std::span<const std::int32_t> places;  ///< rater * cases + case; below 0: no score
  std::size_t raters;
  std::size_t cases;
  std::size_t categories;

  std::int32_t at(std::size_t rater, std::size_t case_) const { return places[rater * cases + case_]; }
};

/// The columns of one measure, seen so. Valid as long as the columns are.
Placings placings(const Columns& columns);

/// How many raters gave each case each category: all that a coefficient needs for which raters are
/// exchangeable. Categories nobody gave a case take no room.
class CategoryCounts {
 public:
  struct Count {
    std::uint32_t category;
    std::uint32_t ratings;
  };

  explicit CategoryCounts(std::size_t categories) : categories_(categories) {}
  static CategoryCounts of(const Placings& placings);

  /// One more case, by its number of ratings in each category. Pre-condition: as many numbers as
  /// there are categories.
  void add(std::span<const std::size_t> ratings);

  std::size_t categories() const { return categories_; }
  std::size_t cases() const { return ends_.size(); }
  /// What the case was given, in the order of the categories; empty when nobody scored it.
  std::span<const Count> at(std::size_t case_) const;
  /// Ratings of a case.
  std::size_t ratings(std::size_t case_) const { return ratings_[case_]; }
  /// Ratings of all cases, by category.
  std::vector<std::size_t> totals() const;

 private:
  void close_case();

  std::size_t categories_;
  std::vector<Count> counts_;
  std::vector<std::size_t> ends_;  ///< where each case ends in counts_
  std::vector<std::uint32_t> ratings_;
};

/// The ratings of a table as counts; the categories are the distinct values, in order.
struct ValuedCounts {
  std::vector<double> values;
  CategoryCounts counts;
};
ValuedCounts counts_of(const RatingTable& table);

}  // namespace evenhand::agreement
