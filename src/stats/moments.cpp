#include "stats/moments.hpp"

#include <algorithm>
#include <cmath>
#include <string_view>

namespace evenhand::stats {

namespace {

/// each(visit) calls visit(value, count) for every value.
template <class Each>
Moments moments_of(std::size_t n, double origin, Each each) {
  const auto size = static_cast<double>(n);
  double sum = 0.0;
  each([&](double x, double count) { sum += count * (x - origin); });
  const double shift = sum / size;

  double squares = 0.0, drift = 0.0;
  each([&](double x, double count) {
    const double d = (x - origin) - shift;
    squares += count * d * d;
    drift += count * d;
  });
  // What rounding left of the sum of deviations, taken back (two-pass algorithm, corrected).
  return Moments{n, origin + shift, std::max(0.0, squares - drift * drift / size)};
}

constexpr std::string_view no_value = "no value: a mean needs at least one";

}  // namespace

Result<Moments> moments(std::span<const double> values) {
  if (values.empty()) return fail(Errc::undefined, "{}", no_value);
  return moments_of(values.size(), values.front(), [&](auto visit) {
    for (const double x : values) visit(x, 1.0);
  });
}

Result<Moments> moments(std::span<const Counted> values) {
  std::size_t n = 0;
  for (const auto& [value, count] : values) n += count;
  if (n == 0) return fail(Errc::undefined, "{}", no_value);
  return moments_of(n, values.front().value, [&](auto visit) {
    for (const auto& [value, count] : values) visit(value, static_cast<double>(count));
  });
}

Result<double> standard_deviation(const Moments& moments) {
  if (moments.n < 2) return fail(Errc::undefined, "fewer than two values: no standard deviation");
  return std::sqrt(moments.squares / static_cast<double>(moments.n - 1));
}

}  // namespace evenhand::stats
