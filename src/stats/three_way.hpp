#pragma once

#include <array>
#include <cstddef>
#include <span>

#include "base/error.hpp"
#include "stats/dense.hpp"

namespace evenhand::stats {

/// Sums of squares are computed from centered values, effect by effect; one that rounding of the
/// values can make is 0 (see mean_squares.hpp).
///
/// first, second, third, first:second, first:third, second:third, residual
inline constexpr std::size_t three_way_terms = 7;

/// Analysis of variance of a complete crossed design with one value a cell.
struct ThreeWayMeanSquares {
  std::array<std::size_t, 3> levels;
  std::array<double, three_way_terms> square;
  std::array<double, three_way_terms> df;
};

/// values   (first * levels[1] + second) * levels[2] + third, finite
/// errors   invalid    the number of values is not the product of the levels
///          undefined  a factor has fewer than two levels
/// cost     O(values)
Result<ThreeWayMeanSquares> three_way_mean_squares(std::span<const double> values,
                                                   std::array<std::size_t, 3> levels);

/// Which mean squares make which variance when every factor is random: variance = matrix * squares.
/// Cornfield J, Tukey JW (1956). Annals of Mathematical Statistics 27:907-949.
Dense three_way_expectations(std::array<std::size_t, 3> levels);
/// By expected mean squares; a negative one is left negative.
std::array<double, three_way_terms> three_way_components(const ThreeWayMeanSquares& squares);

/// Analysis of variance of `object * (inner : outer)`: each inner level occurs within one outer
/// level, each outer level has as many inner ones, every object has a value for each.
struct NestedMeanSquares {
  std::size_t objects, inner, outer;  ///< inner: a number for each outer level
  double object, outer_square, inner_square, object_outer, residual;
};
struct NestedComponents {
  double object, outer, inner, object_outer, residual;
};

/// values   (object * outer + outer level) * inner + inner level
/// errors   as above
Result<NestedMeanSquares> nested_mean_squares(std::span<const double> values, std::size_t objects,
                                              std::size_t outer, std::size_t inner);
NestedComponents nested_components(const NestedMeanSquares& squares);

}  // namespace evenhand::stats
