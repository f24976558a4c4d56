#pragma once

#include <cstddef>

#include "agreement/agreement.hpp"
#include "severity/ratings.hpp"

namespace evenhand::severity {

/// More levels than this and the model has more thresholds than scores to tell them by.
inline constexpr std::size_t most_levels = 20;

/// The scores of a matrix, the key among the raters; those filled in by a skip rule are no scores of an
/// item. Levels are worth their number, or their place where categories are labels.
/// Errors: invalid, nominal categories (they have no order to be severe on), more than most_levels
Result<Ratings> ratings_of(const agreement::ScoreMatrix& matrix, std::optional<agreement::Level> level = {});

}  // namespace evenhand::severity
