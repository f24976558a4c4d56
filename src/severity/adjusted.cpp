#include "severity/adjusted.hpp"

#include <cmath>

namespace evenhand::severity {
namespace {

constexpr double farthest = 100.0;  // logits

}  // namespace

Measured adjusted_location(Prediction& prediction, std::span<const ExtremeScore> scores, double sign,
                           Extreme end) {
  constexpr Reason nothing{"every score is at one end, of cases and items that are left out too"};
  if (scores.empty()) return {nothing, nothing};
  double target = 0.5;
  if (end == Extreme::highest) {
    target = -0.5;
    for (const ExtremeScore& s : scores)
      target += static_cast<double>(prediction.design().steps(prediction.design().set_of[s.item]));
  }
  // The expected total moves one way in x: halve the interval.
  double low = -farthest, high = farthest, information = 0.0;
  for (int i = 0; i < 200 && high - low > 1e-13; ++i) {
    const double x = 0.5 * (low + high);
    double total = 0.0;
    information = 0.0;
    for (const ExtremeScore& s : scores) {
      const auto [mean, variance] = prediction.rank(s.item, s.offset + sign * x);
      total += mean;
      information += variance;
    }
    ((total < target) == (sign > 0.0) ? low : high) = x;
  }
  if (!(information > 0.0)) return {nothing, nothing};
  return {0.5 * (low + high), 1.0 / std::sqrt(information)};
}

}  // namespace evenhand::severity
