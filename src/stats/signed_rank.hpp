#pragma once

#include <cstddef>
#include <span>

#include "base/error.hpp"
#include "stats/moments.hpp"

namespace evenhand::stats {

enum class SignedRankMethod {
  automatic,         ///< exact below 50 differences without ties, else normal_corrected
  exact,             ///< all sign patterns, conditional on the ties
  normal,            ///< tie correction
  normal_corrected,  ///< tie correction and continuity correction of one half
};

struct SignedRank {
  std::size_t n;  ///< differences left after dropping zeros
  double v;       ///< sum of the ranks of the positive differences
  double p;       ///< two-sided
  bool exact;     ///< which way p was computed
};

/// Wilcoxon signed-rank test that differences are symmetric about 0. Zeros are dropped, ties get
/// mean ranks. Differences within 1e-10 of the largest one are taken as equal (rounding of
/// decimal scores), so the unit of the scale does not matter.
/// errors  undefined  every difference is 0
/// cost    O(n log n); exact O(n^3)
/// Wilcoxon F (1945). Biometrics Bulletin 1:80-83; ties as in Hollander M, Wolfe DA (1973),
/// Nonparametric Statistical Methods.
Result<SignedRank> signed_rank(std::span<const double> differences,
                               SignedRankMethod method = SignedRankMethod::automatic);
Result<SignedRank> signed_rank(std::span<const Counted> differences,
                               SignedRankMethod method = SignedRankMethod::automatic);

}  // namespace evenhand::stats
