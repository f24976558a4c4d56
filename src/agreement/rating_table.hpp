#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "base/error.hpp"

namespace evenhand::agreement {

/// Ratings of cases (rows) by raters (columns) on one scale.
/// Every table that exists is rectangular and finite where a cell is filled, so functions that
/// take one check none of that again. Any size is a table: whether a statistic has a value for
/// it is that statistic's answer.
class RatingTable {
 public:
  using Cell = std::optional<double>;  // nullopt: not rated

  /// Errors: invalid, naming the row and rater at fault.
  static Result<RatingTable> from_rows(std::span<const std::vector<Cell>> rows);
  /// A table of the given size without a rating.
  RatingTable(std::size_t cases, std::size_t raters);

  std::size_t cases() const { return cases_; }
  std::size_t raters() const { return raters_; }
  Cell at(std::size_t case_, std::size_t rater) const;
  /// Errors: invalid, when the value is not finite.
  Result<void> set(std::size_t case_, std::size_t rater, double value);
  /// Ratings in the table.
  std::size_t ratings() const;
  bool complete() const;
  /// Only the cases that every rater rated, in order.
  RatingTable complete_cases() const;

  /// The values row by row. Pre-condition: complete().
  std::span<const double> values() const;

  friend bool operator==(const RatingTable& a, const RatingTable& b);

 private:
  std::size_t cases_;
  std::size_t raters_;
  std::vector<double> cells_;  // row-major; a quiet NaN marks a cell not rated, and never leaves
};

}  // namespace evenhand::agreement
