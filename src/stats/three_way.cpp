#include "stats/three_way.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

namespace evenhand::stats {
namespace {

std::vector<double> centered(std::span<const double> values) {
  std::vector<double> x(values.begin(), values.end());
  const double origin = values.front(), n = static_cast<double>(values.size());
  double sum = 0.0;
  for (double& v : x) sum += (v -= origin);
  for (double& v : x) v -= sum / n;
  return x;
}

double rounding_floor(std::span<const double> values) {
  double largest = 0.0;
  for (const double x : values) largest = std::max(largest, std::abs(x));
  const double moved = 8.0 * std::numeric_limits<double>::epsilon() * largest;
  return static_cast<double>(values.size()) * moved * moved;
}

using Place = std::array<std::size_t, 3>;

/// Takes the means over the levels of the factors in `kept` out of x and returns their sum of squares.
double sweep(std::vector<double>& x, Place levels, std::array<bool, 3> kept) {
  const Place size{kept[0] ? levels[0] : 1, kept[1] ? levels[1] : 1, kept[2] ? levels[2] : 1};
  std::vector<double> mean(size[0] * size[1] * size[2]);
  const double share = static_cast<double>(mean.size()) / static_cast<double>(x.size());
  std::vector<std::size_t> to(x.size());
  std::size_t at = 0;
  for (std::size_t i = 0; i < levels[0]; ++i)
    for (std::size_t j = 0; j < levels[1]; ++j)
      for (std::size_t k = 0; k < levels[2]; ++k, ++at) {
        to[at] = ((kept[0] ? i : 0) * size[1] + (kept[1] ? j : 0)) * size[2] + (kept[2] ? k : 0);
        mean[to[at]] += x[at] * share;
      }
  double squares = 0.0;
  for (const double m : mean) squares += m * m / share;
  for (at = 0; at < x.size(); ++at) x[at] -= mean[to[at]];
  return squares;
}

Result<void> check(std::span<const double> values, Place levels) {
  if (values.size() != levels[0] * levels[1] * levels[2])
    return fail(Errc::invalid, "{} values do not fill {} x {} x {} cells", values.size(), levels[0],
                levels[1], levels[2]);
  if (std::min({levels[0], levels[1], levels[2]}) < 2)
    return fail(Errc::undefined, "{} x {} x {} levels: two of each are needed", levels[0], levels[1],
                levels[2]);
  return {};
}

double above(double floor, double squares) { return squares <= floor ? 0.0 : squares; }

}  // namespace

Result<ThreeWayMeanSquares> three_way_mean_squares(std::span<const double> values, Place levels) {
  if (const auto ok = check(values, levels); !ok) return tl::unexpected(ok.error());
  std::vector<double> x = centered(values);
  const double a = static_cast<double>(levels[0]) - 1.0, b = static_cast<double>(levels[1]) - 1.0,
               c = static_cast<double>(levels[2]) - 1.0;
  ThreeWayMeanSquares result{
      levels,
      {sweep(x, levels, {true, false, false}), sweep(x, levels, {false, true, false}),
       sweep(x, levels, {false, false, true}), sweep(x, levels, {true, true, false}),
       sweep(x, levels, {true, false, true}), sweep(x, levels, {false, true, true}), dot(x, x)},
      {a, b, c, a * b, a * c, b * c, a * b * c}};
  const double floor = rounding_floor(values);
  for (std::size_t t = 0; t < three_way_terms; ++t)
    result.square[t] = above(floor, result.square[t]) / result.df[t];
  return result;
}

Dense three_way_expectations(Place levels) {
  Dense m(three_way_terms, three_way_terms);
  const double a = static_cast<double>(levels[0]), b = static_cast<double>(levels[1]),
               c = static_cast<double>(levels[2]);
  const auto main = [&](std::size_t t, std::size_t one, std::size_t other, double divisor) {
    m(t, t) = m(t, 6) = 1.0 / divisor;
    m(t, one) = m(t, other) = -1.0 / divisor;
  };
  main(0, 3, 4, b * c);
  main(1, 3, 5, a * c);
  main(2, 4, 5, a * b);
  const auto pair = [&](std::size_t t, double divisor) {
    m(t, t) = 1.0 / divisor;
    m(t, 6) = -1.0 / divisor;
  };
  pair(3, c);
  pair(4, b);
  pair(5, a);
  m(6, 6) = 1.0;
  return m;
}

std::array<double, three_way_terms> three_way_components(const ThreeWayMeanSquares& squares) {
  const auto variances = times(three_way_expectations(squares.levels), squares.square);
  std::array<double, three_way_terms> result{};
  std::copy(variances.begin(), variances.end(), result.begin());
  return result;
}

Result<NestedMeanSquares> nested_mean_squares(std::span<const double> values, std::size_t objects,
                                              std::size_t outer, std::size_t inner) {
  const Place levels{objects, outer, inner};
  if (const auto ok = check(values, levels); !ok) return tl::unexpected(ok.error());
  std::vector<double> x = centered(values);
  const double n = static_cast<double>(objects), o = static_cast<double>(outer),
               i = static_cast<double>(inner), floor = rounding_floor(values);
  NestedMeanSquares result{objects, inner, outer, 0.0, 0.0, 0.0, 0.0, 0.0};
  result.object = above(floor, sweep(x, levels, {true, false, false})) / (n - 1.0);
  result.outer_square = above(floor, sweep(x, levels, {false, true, false})) / (o - 1.0);
  result.inner_square = above(floor, sweep(x, levels, {false, true, true})) / (o * (i - 1.0));
  result.object_outer = above(floor, sweep(x, levels, {true, true, false})) / ((n - 1.0) * (o - 1.0));
  result.residual = above(floor, dot(x, x)) / ((n - 1.0) * o * (i - 1.0));
  return result;
}

NestedComponents nested_components(const NestedMeanSquares& s) {
  const double n = static_cast<double>(s.objects), o = static_cast<double>(s.outer),
               i = static_cast<double>(s.inner);
  return {.object = (s.object - s.object_outer) / (o * i),
          .outer = (s.outer_square - s.inner_square - s.object_outer + s.residual) / (n * i),
          .inner = (s.inner_square - s.residual) / n,
          .object_outer = (s.object_outer - s.residual) / i,
          .residual = s.residual};
}

}  // namespace evenhand::stats
