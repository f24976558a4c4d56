#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace evenhand::severity {

/// A symmetric matrix; row-major, both halves are kept, only the lower one is read.
class Symmetric {
 public:
  explicit Symmetric(std::size_t n = 0) : n_(n), cells_(n * n) {}

  std::size_t size() const { return n_; }
  double& operator()(std::size_t i, std::size_t j) { return cells_[i * n_ + j]; }
  double operator()(std::size_t i, std::size_t j) const { return cells_[i * n_ + j]; }
  double* row(std::size_t i) { return cells_.data() + i * n_; }
  const double* row(std::size_t i) const { return cells_.data() + i * n_; }
  /// Adds scale x x' to the lower half.
  void add_square(const double* x, double scale);

 private:
  std::size_t n_;
  std::vector<double> cells_;
};

/// Cholesky factor L of a symmetric positive semi-definite matrix, A = L L', in which a column that
/// depends on those before it is set aside: it takes no part in a solution (its entry is 0). What is
/// solved is then one of the many solutions, and all of them give the same estimable quantities.
class Factor {
 public:
  /// set_aside  columns that are known to depend on others
  /// tolerance  a pivot at most this share of its diagonal is taken for 0
  explicit Factor(Symmetric a, const std::vector<bool>& set_aside = {}, double tolerance = 1e-13);

  /// Whether every column not set aside beforehand had a positive pivot.
  bool positive_definite() const { return positive_definite_; }
  const std::vector<bool>& set_aside() const { return set_aside_; }
  void solve(std::span<double> x) const;
  /// The generalized inverse, both halves.
  Symmetric inverse() const;

 private:
  Symmetric l_;
  std::vector<bool> set_aside_;
  bool positive_definite_ = true;
};

}  // namespace evenhand::severity
