#pragma once

#include <cstddef>
#include <span>

#include "base/error.hpp"

namespace evenhand::stats {

// Sums of squares are computed from centered values. One that is no larger than the rounding
// of the values themselves can make it (each value moved by 8 units in its last place) is 0.

/// Two-way analysis of variance without replication.
struct TwoWayMeanSquares {
  std::size_t rows;
  std::size_t columns;
  double row;       ///< rows - 1 degrees of freedom
  double column;    ///< columns - 1
  double residual;  ///< (rows - 1) (columns - 1)
  double within;    ///< column and residual together: rows (columns - 1)
};

/// values   row-major, rows x columns, finite
/// errors   invalid    the number of values is not rows x columns
///          undefined  fewer than two rows or two columns
/// cost     O(rows columns) time
Result<TwoWayMeanSquares> two_way_mean_squares(std::span<const double> values, std::size_t rows,
                                               std::size_t columns);

/// One-way analysis of variance; groups may have different sizes.
struct OneWayMeanSquares {
  std::size_t groups;
  std::size_t values;
  bool balanced;
  double between;  ///< groups - 1 degrees of freedom
  double within;   ///< values - groups
  double k0;       ///< (N - sum n_i^2 / N) / (groups - 1): the size itself when balanced
};

/// values   group after group, finite
/// sizes    values a group; groups without a value do not count
/// errors   invalid    the sizes do not add up to the number of values
///          undefined  fewer than two groups, or no group with two values
Result<OneWayMeanSquares> one_way_mean_squares(std::span<const double> values,
                                               std::span<const std::size_t> sizes);

}  // namespace evenhand::stats
