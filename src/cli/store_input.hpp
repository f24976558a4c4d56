#pragma once

#include <string>

#include "cli/command.hpp"
#include "store/store.hpp"

namespace evenhand::cli {

/// Adds `--store` to a command. Unless the caller says it is required, the default is the
/// environment's EVENHAND_STORE, else `evenhand.db` in the current folder.
void add_store_option(CLI::App& command, std::string& address);

/// Opens the store that `--store` names.
Result<store::Store> open_store(const std::string& address, store::OpenMode mode);

}  // namespace evenhand::cli
