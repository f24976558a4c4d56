#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace evenhand::stats {

/// A small dense matrix, row-major. Just what variance components need, written out: a linear algebra library
/// would bring the machine's BLAS, and the last digits of a filed result would depend on which one that is.
class Dense {
 public:
  Dense() = default;
  Dense(std::size_t rows, std::size_t columns) : rows_(rows), columns_(columns), values_(rows * columns) {}

  std::size_t rows() const { return rows_; }
  std::size_t columns() const { return columns_; }
  double& operator()(std::size_t i, std::size_t j) { return values_[i * columns_ + j]; }
  double operator()(std::size_t i, std::size_t j) const { return values_[i * columns_ + j]; }
  std::span<double> row(std::size_t i) { return std::span(values_).subspan(i * columns_, columns_); }
  std::span<const double> row(std::size_t i) const {
    return std::span(values_).subspan(i * columns_, columns_);
  }
  bool empty() const { return values_.empty(); }

 private:
  std::size_t rows_ = 0;
  std::size_t columns_ = 0;
  std::vector<double> values_;
};

double dot(std::span<const double> a, std::span<const double> b);
/// a += factor b
void add_scaled(std::span<double> a, double factor, std::span<const double> b);

Dense product(const Dense& a, const Dense& b);
/// a b'
Dense product_transposed(const Dense& a, const Dense& b);
/// The sum of the products of cells: tr(a b').
double inner_product(const Dense& a, const Dense& b);
std::vector<double> times(const Dense& a, std::span<const double> x);

struct InverseAndDeterminant {
  Dense inverse;
  double log_determinant;
};

/// Of a symmetric positive definite matrix (the upper triangle is read) by Cholesky; nothing when
/// it is not positive definite to working precision. cost O(n^3)
std::optional<InverseAndDeterminant> inverse_of(Dense a);

}  // namespace evenhand::stats
