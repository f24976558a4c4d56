#include "severity/quadrature.hpp"

#include <cmath>

namespace evenhand::severity {
namespace {

/// The orthonormal Hermite polynomials (weight: standard normal) of degree n and n - 1 at x, and the
/// sum of the squares of degrees 0..n-1.
struct Hermite {
  double last, before, squares;
};

Hermite hermite(std::size_t n, double x) {
  double before = 0.0, now = 1.0, squares = 0.0;
  for (std::size_t k = 0; k < n; ++k) {
    squares += now * now;
    const auto d = static_cast<double>(k);
    const double next = (x * now - std::sqrt(d) * before) / std::sqrt(d + 1.0);
    before = now;
    now = next;
  }
  return {now, before, squares};
}

/// The root between two points where the polynomial has opposite signs.
double root_between(std::size_t n, double low, double high) {
  const double sign = hermite(n, low).last > 0.0 ? 1.0 : -1.0;
  double x = 0.5 * (low + high);
  for (int i = 0; i < 200; ++i) {
    const Hermite h = hermite(n, x);
    (sign * h.last > 0.0 ? low : high) = x;
    // The derivative of degree n is sqrt(n) times degree n - 1.
    double next = x - h.last / (std::sqrt(static_cast<double>(n)) * h.before);
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    if (std::abs(next - x) <= 1e-15 * (1.0 + std::abs(x))) return next;
    x = next;
  }
  return x;
}

}  // namespace

NormalQuadrature normal_quadrature(std::size_t n) {
  // The roots of one degree separate those of the next.
  std::vector<double> roots;
  for (std::size_t degree = 1; degree <= n; ++degree) {
    const double end = 2.0 * std::sqrt(static_cast<double>(degree)) + 1.0;
    std::vector<double> bounds{-end};
    bounds.insert(bounds.end(), roots.begin(), roots.end());
    bounds.push_back(end);
    roots.clear();
    for (std::size_t i = 0; i + 1 < bounds.size(); ++i)
      roots.push_back(root_between(degree, bounds[i], bounds[i + 1]));
  }
  NormalQuadrature rule{roots, {}};
  for (const double x : roots) rule.log_weights.push_back(-std::log(hermite(n, x).squares));
  return rule;
}

}  // namespace evenhand::severity
