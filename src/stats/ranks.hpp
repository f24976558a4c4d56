#pragma once

#include <span>
#include <vector>

namespace evenhand::stats {

struct Ranks {
  std::vector<double> rank;  ///< of each value, 1 the smallest; equal values share their mean rank
  double tie_sum = 0.0;      ///< sum of t^3 - t over groups of t equal values
};

/// Neighbors within 16 units in the last place are equal: sums of decimal scores differ by that much.
/// Values are finite (the caller has checked).
/// cost  O(n log n)
Ranks ranks(std::span<const double> values);

}  // namespace evenhand::stats
