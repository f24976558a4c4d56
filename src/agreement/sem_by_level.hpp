#pragma once

#include <array>
#include <cstddef>

#include "agreement/estimate.hpp"
#include "agreement/rating_table.hpp"

namespace evenhand::agreement {

/// The cases whose mean score lies in one third of the scale.
struct SemInThird {
  double from;  ///< the third spans from .. to; its upper end belongs to the next, the last to itself
  double to;
  std::size_t cases = 0;
  std::size_t ratings = 0;
  Estimate sem = Estimate::undefined(not_asked);  ///< sqrt(rater + residual) within the third
};

/// Standard error of measurement of agreement where the cases lie: near a ceiling scores have less room
/// to differ, and one SEM for the whole scale is too small in its middle.
///
/// table           cases x raters on an interval scale; any cell may be missing
/// lowest, highest ends of the scale (0 and 56 for a total), lowest < highest
/// returns         low, middle and high third, each by `icc_reml` on its own cases; 0 without limits
///                 when all its scores are the same
/// undefined       fewer than two cases in the third, or as `icc_reml`
std::array<SemInThird, 3> sem_by_level(const RatingTable& table, double lowest, double highest,
                                       double confidence = 0.95);

}  // namespace evenhand::agreement
