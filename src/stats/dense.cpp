#include "stats/dense.hpp"

#include <cmath>

namespace evenhand::stats {
namespace {

/// U with U'U = a in the upper triangle, row by row so that the inner loop runs along memory.
bool cholesky(Dense& a) {
  const std::size_t n = a.rows();
  for (std::size_t k = 0; k < n; ++k) {
    const double pivot = a(k, k);
    if (!(pivot > 0.0) || !std::isfinite(pivot)) return false;
    const double root = std::sqrt(pivot);
    const auto row = a.row(k).subspan(k);
    for (double& x : row) x /= root;
    for (std::size_t i = k + 1; i < n; ++i)
      if (const double factor = row[i - k]; factor != 0.0)
        add_scaled(a.row(i).subspan(i), -factor, row.subspan(i - k));
  }
  return true;
}

/// The inverse of an upper triangle.
Dense inverse_of_upper(const Dense& u) {
  const std::size_t n = u.rows();
  Dense v(n, n);
  for (std::size_t i = n; i-- > 0;) {
    const auto row = v.row(i);
    row[i] = 1.0;
    for (std::size_t k = i + 1; k < n; ++k)
      if (const double factor = u(i, k); factor != 0.0)
        add_scaled(row.subspan(k), -factor, v.row(k).subspan(k));
    for (std::size_t j = i; j < n; ++j) row[j] /= u(i, i);
  }
  return v;
}

}  // namespace

double dot(std::span<const double> a, std::span<const double> b) {
  double s0 = 0.0, s1 = 0.0, s2 = 0.0, s3 = 0.0;  // four chains: the adder need not wait
  std::size_t i = 0;
  for (; i + 4 <= a.size(); i += 4) {
    s0 += a[i] * b[i];
    s1 += a[i + 1] * b[i + 1];
    s2 += a[i + 2] * b[i + 2];
    s3 += a[i + 3] * b[i + 3];
  }
  for (; i < a.size(); ++i) s0 += a[i] * b[i];
  return (s0 + s1) + (s2 + s3);
}

void add_scaled(std::span<double> a, double factor, std::span<const double> b) {
  double* const to = a.data();
  const double* const from = b.data();
  const std::size_t n = a.size();
  for (std::size_t i = 0; i < n; ++i) to[i] += factor * from[i];
}

Dense product(const Dense& a, const Dense& b) {
  Dense c(a.rows(), b.columns());
  for (std::size_t i = 0; i < a.rows(); ++i)
    for (std::size_t k = 0; k < a.columns(); ++k) add_scaled(c.row(i), a(i, k), b.row(k));
  return c;
}

Dense product_transposed(const Dense& a, const Dense& b) {
  Dense c(a.rows(), b.rows());
  for (std::size_t i = 0; i < a.rows(); ++i)
    for (std::size_t j = 0; j < b.rows(); ++j) c(i, j) = dot(a.row(i), b.row(j));
  return c;
}

double inner_product(const Dense& a, const Dense& b) {
  double sum = 0.0;
  for (std::size_t i = 0; i < a.rows(); ++i) sum += dot(a.row(i), b.row(i));
  return sum;
}

std::vector<double> times(const Dense& a, std::span<const double> x) {
  std::vector<double> result(a.rows());
  for (std::size_t i = 0; i < a.rows(); ++i) result[i] = dot(a.row(i), x);
  return result;
}

std::optional<InverseAndDeterminant> inverse_of(Dense a) {
  if (!cholesky(a)) return std::nullopt;
  const std::size_t n = a.rows();
  InverseAndDeterminant result{Dense(n, n), 0.0};
  for (std::size_t i = 0; i < n; ++i) result.log_determinant += 2.0 * std::log(a(i, i));
  const Dense v = inverse_of_upper(a);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = i; j < n; ++j)
      result.inverse(i, j) = result.inverse(j, i) = dot(v.row(i).subspan(j), v.row(j).subspan(j));
  return result;
}

}  // namespace evenhand::stats
