#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace evenhand::base {

/// The word among `known` that `word` was probably meant to be: smallest edit
/// distance (insert, delete, replace, swap of neighbours; each 1), at most a third
/// of the longer word's length, at least 1. Ties go to the earlier one.
/// Nothing when no word is that near.
std::optional<std::string> nearest(std::string_view word, std::span<const std::string> known);

}  // namespace evenhand::base
