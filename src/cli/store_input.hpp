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

/// The store whose library holds where one may still have to be made: `address`, or empty while no file is
/// there.
std::string store_if_there(const std::string& address);

/// The store whose library holds for a command that takes SCORES or a store: the one it reads, and beside a
/// file of scores the one that was named, by `--store` or by EVENHAND_STORE. Empty: none.
std::string store_for_library(const CLI::App& command, const ScoresOptions& scores,
                              const std::string& address);

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
