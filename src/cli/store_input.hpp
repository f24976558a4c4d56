#pragma once

#include <optional>
#include <string>

#include "cli/command.hpp"
#include "cli/scores_input.hpp"
#include "store/store.hpp"

namespace evenhand::cli {

/// Adds `--store` to a command. Unless the caller says it is required, the default is the
/// environment's EVENHAND_STORE, else `evenhand.db` in the current folder.
void add_store_option(CLI::App& command, std::string& address);

/// Opens the store that `--store` names.
Result<store::Store> open_store(const std::string& address, store::OpenMode mode);

/// Scores, and what they came from.
struct NamedScores {
  scores::ScoreTable table;
  std::string name;
};

/// The file of scores, when one was named, else all scores of the store. Nothing (every fault already said)
/// when it is at fault, or has no scores.
std::optional<NamedScores> scores_of_file_or_store(const ScoresOptions& file, const std::string& store,
                                                   bool quiet, Console& console, std::size_t threads = 1);

}  // namespace evenhand::cli
