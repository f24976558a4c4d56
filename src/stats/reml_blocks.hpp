#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "stats/dense.hpp"

namespace evenhand::stats {

// Letters of the three-factor model: factor A has the most levels, then B, then C. A level of A is a
// block; within it the values lie in cells b * n_c + c, one value a cell, and
//   V_j = I + a 11' + ab Z_b Z_b' + ac Z_c Z_c'
// is their covariance given the rest (B, C, BC, which all blocks share).

/// Ratios to the residual variance.
struct BlockRatios {
  double a, ab, ac;
};

/// Which cells a block fills. Blocks that fill the same cells share all that does not involve values.
struct Pattern {
  std::vector<std::uint32_t> cells;  ///< in order
  std::size_t n_b, n_c;

  std::size_t b(std::size_t i) const { return cells[i] / n_c; }
  std::size_t c(std::size_t i) const { return cells[i] % n_c; }
};

/// V_j^-1 = W - W H N H'W: the ab term is diagonal by b (W), H = [1, Z_c] the rest.
class BlockInverse {
 public:
  BlockInverse(const Pattern& pattern, BlockRatios ratios);

  bool defined() const { return defined_; }
  double log_determinant() const { return log_determinant_; }
  std::vector<double> solve(std::span<const double> v) const;
  /// sum(cells, cells) += weight V_j^-1, upper triangle.
  void add_to(Dense& sum, double weight) const;

  /// tr(V_j^-1 V_r - V_j^-1 shared V_j^-1 V_r) for r = a, ab, ac; `shared` is over all cells.
  std::array<double, 3> traces(const Dense& shared) const;

 private:
  Dense shared_times_u(const Dense& shared) const;

  const Pattern* pattern_;
  bool defined_ = false;
  double log_determinant_ = 0.0;
  std::vector<double> count_;   // values by b
  std::vector<double> shrink_;  // 1 / (1 + ab n_b)
  std::vector<double> delta_;   // ab / (1 + ab n_b)
  Dense u_;                     // W H
  Dense hwh_;                   // H'W H
  Dense n_;                     // D (I + D H'W H D)^-1 D, D = diag(sqrt(a), sqrt(ac) ...)
  Dense factor_;                // V_j^-1 H = U factor
};

}  // namespace evenhand::stats
