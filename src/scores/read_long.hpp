#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "document/fault.hpp"
#include "scores/score_table.hpp"

namespace evenhand::scores {

/// What a file of scores held.
struct ReadScores {
  ScoreTable table;
  /// What was understood beyond the plain form, in sentences for the person who imports:
  /// separators, decimal comma, rows without a score, ids that differ only in capitals.
  std::vector<std::string> notes;
};

/// A table, or everything that is wrong with the file: nothing is half read.
using ReadResult = tl::expected<ReadScores, document::Faults>;

/// Reads scores in long form: a header row, then one row a score or trial.
///
/// Columns `rater`, `case`, `score`, and as wanted `item`, `round`, `sitting`, `trial`, `status`, `seconds`,
/// `at` (RFC 3339), `case_version`, `obs.NAME`, in any order; capitals in their names do not count (in NAME
/// they do). A column that is none of these is refused, with the nearest name.
///
/// - Blanks around a field are dropped; empty lines are skipped.
/// - Score and status empty: not scored. The row is kept if it has a trial, seconds or notes, else left out.
/// - `skip-rule` needs a score, as does a written-out `observed` without a trial; the other statuses bear
/// none.
/// - The same (round, sitting, rater, case, item, trial) twice, or two scored trials of one
///   (round, sitting, rater, case, item), is a fault that names both lines.
/// - With semicolons or tabs between fields, a comma may be the decimal sign.
///
/// text  the whole file, UTF-8
/// name  what faults call it
/// threads  that share the work on a large plain file; they do not change the result
ReadResult read_long(std::string_view text, const std::string& name, std::size_t threads = 1);

}  // namespace evenhand::scores
