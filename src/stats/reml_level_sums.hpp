#pragma once

#include <cstddef>
#include <functional>
#include <map>
#include <span>
#include <vector>

#include "stats/dense.hpp"
#include "stats/reml_design.hpp"

namespace evenhand::stats {

// A is the factor with more levels, B the other (none in a one-way model); n_i values at level i of A,
// N_i their counts by level of B, y_i their sum. Level i of A is known by k_i = [n_i, N_i, y_i]:
//   V_A^-1 = (I + a Z_A Z_A')^-1 = (I - Z_A diag(1 / n_i) Z_A') + Z_A diag(e_i / n_i) Z_A',
//   e_i = 1 / (1 + a n_i),
// a part within levels, the same for every a, and a part between them, so nothing cancels however large
// a is. The second depends on n_i alone, so levels with the same n_i count as one: sums of k_i k_i' by n_i
// are kept, and an evaluation never looks at the levels of A again.

/// Sums of weight(n_i) k_i k_i' over the levels of A.
class LevelSums {
 public:
  /// Where the sums by n_i would take more than `most_cells` numbers, the k_i are kept instead.
  LevelSums(const Factor& a, const Factor* b, std::span<const double> y, std::size_t most_cells = 1'000'000);

  std::size_t size() const { return width_; }                    ///< of k_i
  const std::vector<double>& counts() const { return counts_; }  ///< n_i
  /// K'(I - Z_A diag(1 / n_i) Z_A')K, K = [1, Z_B, y]; exactly 0 for the column of ones.
  const Dense& within() const { return within_; }
  Dense weighted(const std::function<double(double n)>& weight) const;

 private:
  struct Entry {
    std::size_t place;
    double value;
  };
  static void add_outer(Dense& sum, double weight, std::span<const Entry> k);
  void group(std::size_t most_cells);

  std::size_t width_;
  std::vector<double> counts_;
  std::vector<std::vector<Entry>> rows_;  // k_i without zeros; empty once grouped
  std::map<double, Dense> groups_;        // by n_i, upper triangles
  Dense within_;
};

}  // namespace evenhand::stats
