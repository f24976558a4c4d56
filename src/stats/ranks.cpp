#include "stats/ranks.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numeric>

namespace evenhand::stats {
namespace {

bool equal(double a, double b) {
  constexpr double last_places = 16.0 * std::numeric_limits<double>::epsilon();
  return std::abs(a - b) <= last_places * std::max(std::abs(a), std::abs(b));
}

}  // namespace

Ranks ranks(std::span<const double> values) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
  Ranks result;
  result.rank.resize(values.size());
  for (std::size_t i = 0; i < order.size();) {
    std::size_t end = i + 1;
    while (end < order.size() && equal(values[order[end - 1]], values[order[end]])) ++end;
    const auto t = static_cast<double>(end - i);
    result.tie_sum += t * t * t - t;
    const double mean = (static_cast<double>(i + 1) + static_cast<double>(end)) / 2.0;
    for (; i < end; ++i) result.rank[order[i]] = mean;
  }
  return result;
}

}  // namespace evenhand::stats
