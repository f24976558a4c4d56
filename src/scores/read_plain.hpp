#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "scores/score_table.hpp"

namespace evenhand::scores {

/// A table, and what the reader met on the way.
class PlainTable {
 public:
  ScoreTable table;
  std::size_t blank_lines = 0;
  std::size_t not_scored = 0;
  bool crlf = false;

  /// Reads long form where it is as plain as files of millions of scores are: comma, no quotes, no columns
  /// but rater, case, score and perhaps item. Nothing when the file is anything else or anything is wrong
  /// with it: then the general reader has the word, and finds the words. Where there is a table, it is the
  /// one that the general reader makes, for any number of threads.
  static std::optional<PlainTable> read(std::string_view text, const std::string& name, std::size_t threads);
};

}  // namespace evenhand::scores
