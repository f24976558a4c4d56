#include "stats/reml_blocks.hpp"

#include <algorithm>
#include <cmath>

namespace evenhand::stats {
namespace {

constexpr double negligible = 1e-10;

}  // namespace

BlockInverse::BlockInverse(const Pattern& pattern, BlockRatios ratios)
    : pattern_(&pattern), count_(pattern.n_b), shrink_(pattern.n_b), delta_(pattern.n_b) {
  const std::size_t n = pattern.cells.size(), h = 1 + pattern.n_c;
  Dense by_b(pattern.n_b, h);  // Z_b'H
  for (std::size_t i = 0; i < n; ++i) {
    by_b(pattern.b(i), 0) += 1.0;
    by_b(pattern.b(i), 1 + pattern.c(i)) += 1.0;
  }
  for (std::size_t b = 0; b < pattern.n_b; ++b) {
    count_[b] = by_b(b, 0);
    shrink_[b] = 1.0 / (1.0 + ratios.ab * count_[b]);
    delta_[b] = ratios.ab * shrink_[b];
    log_determinant_ += std::log1p(ratios.ab * count_[b]);
  }
  u_ = Dense(n, h);
  hwh_ = Dense(h, h);
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t b = pattern.b(i);
    const auto row = u_.row(i);
    add_scaled(row, -delta_[b], by_b.row(b));
    row[0] += 1.0;
    row[1 + pattern.c(i)] += 1.0;
    add_scaled(hwh_.row(0), 1.0, row);
    add_scaled(hwh_.row(1 + pattern.c(i)), 1.0, row);
  }
  const auto root = [&](std::size_t i) { return std::sqrt(i == 0 ? ratios.a : ratios.ac); };
  Dense middle(h, h);
  for (std::size_t i = 0; i < h; ++i)
    for (std::size_t j = 0; j < h; ++j) middle(i, j) = hwh_(i, j) * root(i) * root(j) + (i == j ? 1.0 : 0.0);
  const auto inverse = inverse_of(std::move(middle));
  if (!inverse) return;
  defined_ = true;
  log_determinant_ += inverse->log_determinant;
  n_ = inverse->inverse;
  for (std::size_t i = 0; i < h; ++i)
    for (std::size_t j = 0; j < h; ++j) n_(i, j) *= root(i) * root(j);
  // I - N H'W H where the ratio is next to nothing; the same without cancellation elsewhere.
  factor_ = Dense(h, h);
  for (std::size_t j = 0; j < h; ++j) {
    const double ratio = j == 0 ? ratios.a : ratios.ac;
    for (std::size_t i = 0; i < h; ++i)
      factor_(i, j) = ratio > negligible ? n_(i, j) / ratio : (i == j) - dot(n_.row(i), hwh_.row(j));
  }
}

std::vector<double> BlockInverse::solve(std::span<const double> v) const {
  const Pattern& p = *pattern_;
  std::vector<double> result(v.begin(), v.end()), by_b(p.n_b), inner(u_.columns());
  for (std::size_t i = 0; i < v.size(); ++i) by_b[p.b(i)] += v[i];
  for (std::size_t i = 0; i < v.size(); ++i) {
    result[i] -= delta_[p.b(i)] * by_b[p.b(i)];
    add_scaled(inner, v[i], u_.row(i));
  }
  const std::vector<double> solved = times(n_, inner);
  for (std::size_t i = 0; i < v.size(); ++i) result[i] -= dot(u_.row(i), solved);
  return result;
}

void BlockInverse::add_to(Dense& sum, double weight) const {
  const Pattern& p = *pattern_;
  const std::size_t n = p.cells.size(), h = u_.columns();
  const Dense un = product(u_, n_);
  Dense across(h, n);  // U' so that the inner loop runs along cells
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t k = 0; k < h; ++k) across(k, i) = u_(i, k);
  std::vector<double> line(n);
  for (std::size_t i = 0; i < n; ++i) {
    const auto rest = std::span(line).subspan(i);
    std::fill(rest.begin(), rest.end(), 0.0);
    for (std::size_t k = 0; k < h; ++k) add_scaled(rest, -un(i, k), across.row(k).subspan(i));
    for (std::size_t j = i; j < n && p.b(j) == p.b(i); ++j) line[j] -= delta_[p.b(i)];
    line[i] += 1.0;
    const auto to = sum.row(p.cells[i]);
    for (std::size_t j = i; j < n; ++j) to[p.cells[j]] += weight * line[j];
  }
}

Dense BlockInverse::shared_times_u(const Dense& shared) const {
  const auto& cells = pattern_->cells;
  Dense result(cells.size(), u_.columns());
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const auto from = shared.row(cells[i]);
    const auto to = result.row(i);
    for (std::size_t j = 0; j < cells.size(); ++j) add_scaled(to, from[cells[j]], u_.row(j));
  }
  return result;
}

std::array<double, 3> BlockInverse::traces(const Dense& shared) const {
  const Pattern& p = *pattern_;
  const std::size_t n = p.cells.size(), h = u_.columns();
  const Dense su = shared_times_u(shared);
  Dense usu(h, h), su_by_b(p.n_b, h), u_by_b(p.n_b, h);
  std::vector<double> shared_by_b(p.n_b);  // z_b' shared z_b
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t b = p.b(i);
    for (std::size_t k = 0; k < h; ++k) add_scaled(usu.row(k), u_(i, k), su.row(i));
    add_scaled(su_by_b.row(b), 1.0, su.row(i));
    add_scaled(u_by_b.row(b), 1.0, u_.row(i));
    for (std::size_t j = i; j < n && p.b(j) == b; ++j)
      shared_by_b[b] += (i == j ? 1.0 : 2.0) * shared(p.cells[i], p.cells[j]);
  }
  std::array<double, 3> result{};
  const Dense outer = product(usu, factor_);
  for (std::size_t k = 0; k < h; ++k) {
    double own = 0.0;
    for (std::size_t l = 0; l < h; ++l) own += factor_(l, k) * (hwh_(l, k) - outer(l, k));
    result[k == 0 ? 0 : 2] += own;
  }
  for (std::size_t b = 0; b < p.n_b; ++b) {  // V_j^-1 z_b = shrink_b z_b - U N U'z_b
    const std::vector<double> solved = times(n_, u_by_b.row(b));
    result[1] += count_[b] * shrink_[b] - dot(solved, u_by_b.row(b)) -
                 shrink_[b] * shrink_[b] * shared_by_b[b] + 2.0 * shrink_[b] * dot(su_by_b.row(b), solved) -
                 dot(solved, times(usu, solved));
  }
  return result;
}

}  // namespace evenhand::stats
