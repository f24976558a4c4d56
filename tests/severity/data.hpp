#pragma once

#include <string>
#include <vector>

#include "severity/ratings.hpp"

namespace evenhand::test {

/// The scores of a file under tests/reference/data, without the key. Levels are the whole numbers
/// 0..highest seen, worth their own number of points. Throws when the file is not as it should be.
severity::Ratings ratings_of(const std::string& dataset);

/// Ratings with made-up names from (case, rater, item, level).
severity::Ratings ratings_from(std::size_t cases, std::size_t raters, std::size_t items, std::size_t levels,
                               std::vector<severity::Score> scores,
                               std::optional<std::size_t> key = std::nullopt);

}  // namespace evenhand::test
