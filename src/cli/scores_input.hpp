#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "report/agreement_json.hpp"
#include "scores/resolve.hpp"
#include "scores/score_table.hpp"

namespace evenhand::cli {

/// How a command that takes SCORES was told to read them.
struct ScoresOptions {
  std::string path;        ///< a CSV file; `-` is standard input
  std::string wide;        ///< empty (long form), `items` or `raters`
  std::string key;         ///< empty: the rater `key`, if there is one
  std::string categories;  ///< separated by commas; empty: told from the scores
  std::string level;       ///< empty: told from the categories
  std::string sitting = "first";
  std::vector<std::string> rounds;  ///< empty: all
};

/// Adds `SCORES --wide --key --sitting --round` to a command.
void add_scores_options(CLI::App& command, ScoresOptions& options);

/// Reads the file; what was understood beyond the plain form is said on `err` unless quiet.
/// Nothing (every fault already said) when the file is at fault.
std::optional<scores::ScoreTable> read_scores(const ScoresOptions& options, bool quiet, Console& console,
                                              std::size_t threads = 1);

/// The same for bytes at hand.
std::optional<scores::ScoreTable> read_scores_from(std::string_view bytes, const std::string& name,
                                                   const std::string& wide, bool quiet, Console& console,
                                                   std::size_t threads = 1);

/// What the options ask of scores::resolve.
Result<scores::ResolveOptions> resolve_options(const ScoresOptions& options);

/// What the report says about the scores of one round; their fingerprint is the caller's.
report::ScoresInput input_facts(const scores::Resolved& resolved);

}  // namespace evenhand::cli
