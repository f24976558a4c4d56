#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "scores/score_table.hpp"

namespace evenhand::scores {

/// How text cells are written.
enum class Cells : std::uint8_t {
  defused,  ///< what a spreadsheet would run as a formula is made harmless: for a person's eyes
  raw,      ///< as they are: for reading back
};

/// Scores in long form, everything kept: RFC 4180, UTF-8, only the columns that some row fills.
/// `read_long` of raw text gives the same table again.
std::string write_long(const ScoreTable& table, Cells cells = Cells::defused);

struct WideText {
  std::string text;
  std::vector<std::string> left_out;  ///< what the wide form cannot hold and this table has, in words
};

/// Scores in wide form, one row a (round, sitting, rater, case), one column an item; a cell is a
/// score or the word of a status without score. Of several trials the one with the score is written.
/// Errors: invalid  an item is named like a column of the wide form (`rater`, `case`, ...)
Result<WideText> write_wide(const ScoreTable& table, Cells cells = Cells::defused);

}  // namespace evenhand::scores
