#include "cli/store_input.hpp"

#include <CLI/CLI.hpp>

#include "cli/clock.hpp"

namespace evenhand::cli {

void add_store_option(CLI::App& command, std::string& address) {
  address = "evenhand.db";
  command.add_option("--store", address, "The store: a file")
      ->envname("EVENHAND_STORE")
      ->capture_default_str();
}

Result<store::Store> open_store(const std::string& address, store::OpenMode mode) {
  return store::Store::open(address, mode, now());
}

}  // namespace evenhand::cli
