#pragma once

#include <optional>
#include <span>
#include <vector>

#include "instrument/classify.hpp"

namespace evenhand::instrument {

/// Past the top threshold of an observation all numbers are alike, so a mean counts none for more. The
/// threshold, when any of the numbers lies past it.
std::optional<double> cap_of_mean(const Axis& axis, Better better, std::span<const double> numbers);

/// What several trials come to as one, where the trial rule averages: of numbers the mean, unrounded, each at
/// most at the top threshold of its observation; of ordered facts the median, of two the worse; of unordered
/// facts the most frequent one that can be seen with the rest.
///
/// trials  at least one; values parallel to the item's `observe`
std::vector<double> pooled(const Scoring& scoring, std::size_t item,
                           std::span<const std::vector<double>> trials);

/// A changed number may make another fact impossible (a hold that is cut short cannot end with time
/// called): such facts fall back to what is usual. Nothing when that does not help.
std::optional<std::vector<double>> made_possible(const Scoring& scoring, std::size_t item,
                                                 std::vector<double> values);

}  // namespace evenhand::instrument
