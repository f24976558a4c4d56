#include "stats/holm.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>

namespace evenhand::stats {

std::vector<double> holm(std::span<const double> p) {
  std::vector<std::size_t> order(p.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, {}, [&](std::size_t i) { return p[i]; });
  std::vector<double> adjusted(p.size());
  double largest = 0.0;
  for (std::size_t i = 0; i < order.size(); ++i) {
    largest = std::max(largest, static_cast<double>(p.size() - i) * p[order[i]]);
    adjusted[order[i]] = std::min(1.0, largest);
  }
  return adjusted;
}

}  // namespace evenhand::stats
