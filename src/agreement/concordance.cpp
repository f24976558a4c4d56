#include "agreement/concordance.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

#include "stats/distributions.hpp"
#include "stats/moments.hpp"

namespace evenhand::agreement {
namespace {

/// Moments with divisor n.
struct Pair {
  double n;
  double variance1, variance2, covariance;
  double shift;               ///< m1 - m2
  double squared_difference;  ///< mean of (first - second)^2
};

Pair pair_of(std::span<const double> first, std::span<const double> second) {
  std::vector<double> differences(first.size());
  for (std::size_t i = 0; i < first.size(); ++i) differences[i] = first[i] - second[i];
  const auto a = stats::moments(first), b = stats::moments(second), d = stats::moments(differences);
  double products = 0.0;
  const double origin1 = first.front(), origin2 = second.front();
  const double shift1 = a->mean - origin1, shift2 = b->mean - origin2;
  for (std::size_t i = 0; i < first.size(); ++i)
    products += ((first[i] - origin1) - shift1) * ((second[i] - origin2) - shift2);
  const auto n = static_cast<double>(first.size());
  return {n, a->squares / n, b->squares / n, products / n, d->mean, d->squares / n + d->mean * d->mean};
}

// rc concordance, r correlation, u^2 = (m1 - m2)^2 / (s1 s2): the letters of Lin 1989. With rc = r Cb
// every quotient by r is a power of Cb.
double variance_of_z(const Pair& p, double rc, double lost) {
  const double s1s2 = std::sqrt(p.variance1) * std::sqrt(p.variance2);
  const double r = p.covariance / s1s2;
  const double u2 = p.shift * p.shift / s1s2;
  const double cb = 2.0 * s1s2 / (p.variance1 + p.variance2 + p.shift * p.shift);
  const double rest = lost * (1.0 + rc);  // 1 - rc^2
  const double v = (1.0 - r * r) * cb * cb / rest + 2.0 * rc * rc * cb * lost * u2 / (rest * rest) -
                   rc * rc * cb * cb * u2 * u2 / (2.0 * rest * rest);
  return std::max(0.0, v) / (p.n - 2.0);  // below 0 by rounding only
}

}  // namespace

Estimate concordance(std::span<const double> first, std::span<const double> second, double confidence) {
  assert(first.size() == second.size());
  if (first.size() < 2) return Estimate::undefined("fewer than two cases were scored by both");
  const Pair p = pair_of(first, second);
  const double spread = p.variance1 + p.variance2 + p.shift * p.shift;
  if (spread == 0.0) return Estimate::undefined("both gave every case one and the same score");

  const double rc = 2.0 * p.covariance / spread;
  const double lost = p.squared_difference / spread;  // 1 - rc, without cancellation
  Estimate result = Estimate::undefined("the limits could not be computed");
  result.estimate = rc;
  result.method = "Lin 1989, corrected 2000";
  const auto no_limits = [&](Reason reason) {
    result.lower = result.upper = reason;
    return result;
  };
  if (first.size() < 3) return no_limits("fewer than three cases were scored by both");
  if (p.variance1 == 0.0 || p.variance2 == 0.0) return no_limits("one gave every case the same score");
  if (lost == 0.0 || 1.0 + rc <= 0.0) return no_limits("the concordance is perfect: Fisher's z is infinite");
  if (const auto z = stats::normal_quantile(1.0 - (1.0 - confidence) / 2.0)) {
    const double center = 0.5 * std::log((1.0 + rc) / lost);
    const double half = *z * std::sqrt(variance_of_z(p, rc, lost));
    result.lower = std::tanh(center - half);
    result.upper = std::tanh(center + half);
  }
  return result;
}

}  // namespace evenhand::agreement
