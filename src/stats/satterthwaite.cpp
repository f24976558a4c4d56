#include "stats/satterthwaite.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "stats/distributions.hpp"

namespace evenhand::stats {
namespace {

// Letters of Ting et al. 1990: G and H reach to the limits of one mean square, the products to those of
// a difference of two. They depend on the degrees of freedom alone.
struct Factors {
  std::vector<double> g, h;
  Dense lower, upper;  // of a positive (row) and a negative (column) square

  static Result<Factors> of(std::span<const double> df, double confidence);
};

Result<Factors> Factors::of(std::span<const double> df, double confidence) {
  const double tail = (1.0 - confidence) / 2.0;
  const std::size_t m = df.size();
  Factors f{{}, {}, Dense(m, m), Dense(m, m)};
  for (const double d : df) {
    const auto high = chi_square_quantile(1.0 - tail, d), low = chi_square_quantile(tail, d);
    if (!high || !low) return fail(Errc::undefined, "{} degrees of freedom: more than 0 are needed", d);
    f.g.push_back(1.0 - d / *high);
    f.h.push_back(d / *low - 1.0);
  }
  for (std::size_t q = 0; q < m; ++q)
    for (std::size_t r = 0; r < m; ++r) {
      if (q == r) continue;
      const auto high = f_quantile(1.0 - tail, df[q], df[r]), low = f_quantile(tail, df[q], df[r]);
      if (!high || !low) return fail(Errc::undefined, "the F distribution gave no quantile");
      const auto squared = [](double x) { return x * x; };
      f.lower(q, r) = (squared(*high - 1.0) - squared(f.g[q] * *high) - squared(f.h[r])) / *high;
      f.upper(q, r) = (squared(1.0 - *low) - squared(f.h[q] * *low) - squared(f.g[r])) / *low;
    }
  return f;
}

Interval limits_of_sum(std::span<const WeightedSquare> squares, const Factors& f) {
  double sum = 0.0, below = 0.0, above = 0.0;
  for (std::size_t q = 0; q < squares.size(); ++q) {
    const double part = squares[q].weight * squares[q].square;
    sum += part;
    const double down = (part > 0.0 ? f.g[q] : f.h[q]) * part, up = (part > 0.0 ? f.h[q] : f.g[q]) * part;
    below += down * down;
    above += up * up;
    for (std::size_t r = 0; r < squares.size() && part > 0.0; ++r) {
      const double other = squares[r].weight * squares[r].square;
      if (other >= 0.0) continue;
      below += f.lower(q, r) * part * -other;
      above += f.upper(q, r) * part * -other;
    }
  }
  return {sum - std::sqrt(std::max(below, 0.0)), sum + std::sqrt(std::max(above, 0.0))};
}

template <class Squares>
std::vector<double> df_of(const Squares& squares) {
  std::vector<double> df;
  for (const auto& square : squares) df.push_back(square.df);
  return df;
}

/// Where a falling function crosses 0 in [0, 1]; the nearer end when it does not.
template <class Function>
double crossing(Function function) {
  double low = 0.0, high = 1.0;
  if (function(low) <= 0.0) return low;
  if (function(high) >= 0.0) return high;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (function(middle) > 0.0 ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace

Result<Interval> chi_square_limits(double variance, double df, double confidence) {
  if (!(variance > 0.0)) return fail(Errc::undefined, "the variance is not above 0");
  const double tail = (1.0 - confidence) / 2.0;
  const auto high = chi_square_quantile(1.0 - tail, df), low = chi_square_quantile(tail, df);
  if (!high) return tl::unexpected(high.error());
  if (!low) return tl::unexpected(low.error());
  if (!(*low > 0.0)) return fail(Errc::undefined, "{} degrees of freedom are too few for limits", df);
  return Interval{df * variance / *high, df * variance / *low};
}

Result<double> satterthwaite_df(std::span<const double> weights, std::span<const double> variances,
                                const Dense& covariance) {
  if (covariance.rows() != weights.size() || variances.size() != weights.size())
    return fail(Errc::undefined, "the covariance of the estimates is not known");
  const double sum = dot(weights, variances), spread = dot(weights, times(covariance, weights));
  if (!(sum > 0.0) || !(spread > 0.0)) return fail(Errc::undefined, "the sum or its variance is not above 0");
  return 2.0 * sum * sum / spread;
}

Result<Interval> modified_large_sample(std::span<const WeightedSquare> squares, double confidence) {
  const auto factors = Factors::of(df_of(squares), confidence);
  if (!factors) return tl::unexpected(factors.error());
  return limits_of_sum(squares, *factors);
}

Result<Interval> share_limits(std::span<const RatioSquare> squares, double confidence) {
  const auto factors = Factors::of(df_of(squares), confidence);
  if (!factors) return tl::unexpected(factors.error());
  const auto difference = [&](double p) {
    std::vector<WeightedSquare> parts;
    for (const RatioSquare& s : squares) parts.push_back({s.numerator - p * s.denominator, s.square, s.df});
    return limits_of_sum(parts, *factors);
  };
  return Interval{crossing([&](double p) { return difference(p).lower; }),
                  crossing([&](double p) { return difference(p).upper; })};
}

}  // namespace evenhand::stats
