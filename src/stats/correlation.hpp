#pragma once

#include <span>

#include "base/error.hpp"

namespace evenhand::stats {

// Association of two columns of values of the same cases; in [-1, 1] but for rounding.
// errors  invalid    the columns have different lengths
//         undefined  fewer than two values, or all values of a column equal

/// Product-moment correlation, from centered values.
Result<double> pearson(std::span<const double> first, std::span<const double> second);

/// Pearson's correlation of the ranks; equal values share their mean rank.
/// Spearman C (1904). American Journal of Psychology 15:72-101.
Result<double> spearman(std::span<const double> first, std::span<const double> second);

/// Pairs in the same order less pairs in opposite order, over the square root of the pairs untied in
/// the first times those untied in the second. O(n log n).
/// Kendall MG (1945). Biometrika 33:239-251. Counting by merge sort: Knight WR (1966). Journal of the
/// American Statistical Association 61:436-439.
Result<double> kendall_tau_b(std::span<const double> first, std::span<const double> second);

}  // namespace evenhand::stats
