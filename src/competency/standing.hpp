#pragma once

#include "base/error.hpp"
#include "competency/summary.hpp"

namespace evenhand::competency {

/// Sums a rater up by the attempt that stands (competency/attempts.hpp), decided at the level for its number.
/// How the work went over time is told from everything the rater scored. `options.attempts` is not asked.
/// errors  those of `summarize`
Result<Summary> summarize_standing(const RaterResults& results, const AnswerKey& key,
                                   const Standard& standard, const Difficulty& others,
                                   SummarizeOptions options = {});

}  // namespace evenhand::competency
