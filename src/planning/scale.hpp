#pragma once

#include <cstddef>
#include <vector>

#include "base/error.hpp"

namespace evenhand::planning {

/// What scores look like: steps and ceiling.
struct ScoreScale {
  std::vector<double> shares = {};  ///< of the scores at each level, lowest first; empty: no steps (a total)
  double ceiling = 0.0;             ///< without steps: share of scores at the highest possible score
};

/// `levels` levels, equally often.
ScoreScale equal_levels(std::size_t levels);
/// `levels` levels, the highest for the share `ceiling` of the scores, the others equally often.
ScoreScale levels_with_ceiling(std::size_t levels, double ceiling);

/// errors  invalid  fewer than two levels that occur, a share outside [0, 1], shares that do not add up to 1
///                  (to within .005: they may be rounded), a ceiling outside [0, 1)
Result<void> check(const ScoreScale& scale);

/// A scale as steps cut into a standard normal: a score is the number of thresholds at or below it; without
/// steps it is the normal itself, cut off at the ceiling.
class CutNormal {
 public:
  /// Pre-condition: check(scale).
  explicit CutNormal(const ScoreScale& scale);

  double score(double latent) const;
  /// Variance of the score when `latent` is standard normal.
  double variance() const { return variance_; }
  /// Variance of the mean score given a part of the latent value that has variance `part` in (0, 1], the
  /// rest being normal: what that part alone carries of `variance()`.
  double variance_of_part(double part) const;

 private:
  double mean_score(double latent, double rest_sd) const;

  bool steps_;
  std::vector<double> thresholds_ =
      {};  // with steps, of level 1, 2, ...; without, the ceiling if there is one
  double variance_;
};

}  // namespace evenhand::planning
