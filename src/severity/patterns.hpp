#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "severity/design.hpp"

namespace evenhand::severity {

/// Cases whose scores are the same: the same levels of the same items by the same raters.
struct Pattern {
  std::span<const Score> scores;  ///< of the first such case, by rater and item
  std::size_t cases = 0;          ///< how many such cases there are
};

struct Patterns {
  std::vector<Pattern> list;         ///< in order of their first case
  std::vector<std::size_t> of_case;  ///< by case of the design: place in the list
};

/// With the case taken out by integration such cases say the same, so a fit need look at each pattern only
/// once: a million scores by a few raters hold a few hundred. The design must outlive it.
/// cost  O(scores), a few bytes a score for the time of the call
Patterns patterns_of(const Design& design);

}  // namespace evenhand::severity
