#pragma once

#include <string>

#include "scores/score_table.hpp"

namespace evenhand::scores {

/// What a message about scores begins with: "scores.csv: "; nothing for scores that came from no file.
std::string place_words(const ScoreTable& table);
/// The same with the line of the row, where lines are kept: "scores.csv:12: ".
std::string place_words(const ScoreTable& table, std::size_t row);

}  // namespace evenhand::scores
