#pragma once

#include <cstddef>
#include <span>

#include "base/error.hpp"

namespace evenhand::stats {

/// A value that occurs so many times. Scores on a scale of few steps have few different ones.
struct Counted {
  double value;
  std::size_t count;
};

/// Mean and sum of squared deviations from it.
struct Moments {
  std::size_t n;
  double mean;
  double squares;  ///< sum of (x - mean)^2, in squared units; 0 when the values are equal
};

/// Computed on the distances from the first value, so that 1e9 + small noise keeps the
/// digits of the noise. Values are finite (the caller has checked).
/// Errors: undefined  no value
Result<Moments> moments(std::span<const double> values);
Result<Moments> moments(std::span<const Counted> values);

/// Standard deviation with divisor n - 1.
/// Errors: undefined  fewer than two values
Result<double> standard_deviation(const Moments& moments);

}  // namespace evenhand::stats
