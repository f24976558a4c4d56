#include "cli/store_input.hpp"

#include <filesystem>

#include <CLI/CLI.hpp>

#include "cli/clock.hpp"

namespace evenhand::cli {

void add_store_option(CLI::App& command, std::string& address) {
  address = "evenhand.db";
  command.add_option("--store", address, "The store: a file")
      ->envname("EVENHAND_STORE")
      ->capture_default_str();
}

std::string store_if_there(const std::string& address) {
  return std::filesystem::exists(address) ? address : std::string();
}

std::string store_for_library(const CLI::App& command, const ScoresOptions& scores,
                              const std::string& address) {
  return scores.path.empty() || command.count("--store") > 0 ? address : std::string();
}

Result<store::Store> open_store(const std::string& address, store::OpenMode mode) {
  return store::Store::open(address, mode, now());
}

std::optional<NamedScores> scores_of_file_or_store(const ScoresOptions& file, const std::string& store,
                                                   bool quiet, Console& console, std::size_t threads) {
  if (!file.path.empty()) {
    auto table = read_scores(file, quiet, console, threads);
    if (!table) return std::nullopt;
    return NamedScores{std::move(*table), file.path};
  }
  auto opened = open_store(store, store::OpenMode::existing);
  auto table = opened ? opened->scores() : Result<scores::ScoreTable>(tl::unexpected(opened.error()));
  if (table && table->empty()) table = fail(Errc::not_found, "{}: there are no scores in it", store);
  if (!table) {
    report_error(console, table.error());
    return std::nullopt;
  }
  return NamedScores{std::move(*table), store};
}

}  // namespace evenhand::cli
