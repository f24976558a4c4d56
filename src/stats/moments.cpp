#include "stats/moments.hpp"

#include <algorithm>
#include <cmath>

namespace evenhand::stats {

Result<Moments> moments(std::span<const double> values) {
  if (values.empty()) return fail(Errc::undefined, "no value: a mean needs at least one");
  const double origin = values.front();
  const auto n = static_cast<double>(values.size());
  double sum = 0.0;
  for (const double x : values) sum += x - origin;
  const double shift = sum / n;

  double squares = 0.0, drift = 0.0;
  for (const double x : values) {
    const double d = (x - origin) - shift;
    squares += d * d;
    drift += d;
  }
  // What rounding left of the sum of deviations, taken back (two-pass algorithm, corrected).
  squares = std::max(0.0, squares - drift * drift / n);
  return Moments{values.size(), origin + shift, squares};
}

Result<double> standard_deviation(const Moments& moments) {
  if (moments.n < 2) return fail(Errc::undefined, "fewer than two values: no standard deviation");
  return std::sqrt(moments.squares / static_cast<double>(moments.n - 1));
}

}  // namespace evenhand::stats
