#pragma once

#include <functional>
#include <vector>

#include "cli/command.hpp"

namespace evenhand::cli {

/// A subcommand of `store` and what it does once its options are parsed.
struct StoreTask {
  CLI::App* app;
  std::function<Exit(Console&)> run;
};

/// rounds, open-round, close-round, reopen-round, lock-round (commands/store_rounds.cpp).
std::vector<StoreTask> add_round_tasks(CLI::App& store);

}  // namespace evenhand::cli
