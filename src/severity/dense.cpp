#include "severity/dense.hpp"

#include <cmath>
#include <utility>

namespace evenhand::severity {

void Symmetric::add_square(const double* x, double scale) {
  for (std::size_t i = 0; i < n_; ++i) {
    const double factor = scale * x[i];
    if (factor == 0.0) continue;
    double* to = row(i);
    for (std::size_t j = 0; j <= i; ++j) to[j] += factor * x[j];
  }
}

Factor::Factor(Symmetric a, const std::vector<bool>& set_aside, double tolerance)
    : l_(std::move(a)), set_aside_(set_aside.empty() ? std::vector<bool>(l_.size()) : set_aside) {
  const std::size_t n = l_.size();
  for (std::size_t j = 0; j < n; ++j) {
    double* row = l_.row(j);
    const double diagonal = row[j];
    double pivot = diagonal;
    if (!set_aside_[j]) {
      // Row j of L by forward substitution.
      for (std::size_t k = 0; k < j; ++k) {
        if (set_aside_[k]) {
          row[k] = 0.0;
          continue;
        }
        const double* other = l_.row(k);
        double sum = row[k];
        for (std::size_t i = 0; i < k; ++i) sum -= row[i] * other[i];
        row[k] = sum / other[k];
        pivot -= row[k] * row[k];
      }
      if (!(pivot > tolerance * diagonal)) {
        set_aside_[j] = true;
        positive_definite_ = false;
      }
    }
    if (set_aside_[j]) {
      for (std::size_t k = 0; k < j; ++k) row[k] = 0.0;
      row[j] = 1.0;
    } else {
      row[j] = std::sqrt(pivot);
    }
  }
}

void Factor::solve(std::span<double> x) const {
  const std::size_t n = l_.size();
  for (std::size_t i = 0; i < n; ++i) {
    if (set_aside_[i]) {
      x[i] = 0.0;
      continue;
    }
    const double* row = l_.row(i);
    double sum = x[i];
    for (std::size_t k = 0; k < i; ++k) sum -= row[k] * x[k];
    x[i] = sum / row[i];
  }
  for (std::size_t i = n; i-- > 0;) {
    const double* row = l_.row(i);
    x[i] /= row[i];
    for (std::size_t k = 0; k < i; ++k) x[k] -= row[k] * x[i];
  }
}

Symmetric Factor::inverse() const {
  const std::size_t n = l_.size();
  Symmetric inverse(n);
  std::vector<double> column(n);
  for (std::size_t j = 0; j < n; ++j) {
    if (set_aside_[j]) continue;
    column.assign(n, 0.0);
    column[j] = 1.0;
    solve(column);
    for (std::size_t i = 0; i < n; ++i) inverse(i, j) = column[i];
  }
  return inverse;
}

}  // namespace evenhand::severity
