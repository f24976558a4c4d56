#pragma once

#include <cstddef>
#include <vector>

namespace evenhand::severity {

/// Points and weights of Gauss-Hermite quadrature for the standard normal density: the sum of
/// weight f(point) is the mean of f, exact for polynomials up to degree 2n - 1.
struct NormalQuadrature {
  std::vector<double> points;  ///< ascending
  std::vector<double> log_weights;
};

/// n in 1..100. The points are the roots of the Hermite polynomial, found by Newton's method on
/// orthonormal polynomials (Golub GH, Welsch JH (1969). Mathematics of Computation 23:221-230 give the
/// weights: one over the sum of their squares).
NormalQuadrature normal_quadrature(std::size_t n);

}  // namespace evenhand::severity
