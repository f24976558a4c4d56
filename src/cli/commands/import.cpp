#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "base/fingerprint.hpp"
#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/files.hpp"
#include "cli/scores_input.hpp"
#include "cli/store_input.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Takes a file of scores into the store: all of it, or nothing when any row is at fault.\n"
    "Example:\n"
    "  evenhand import scores.csv --store department.db";

struct Options {
  std::string path;
  std::string wide;
  std::string store;
  bool quiet = false;
};

Exit run_import(const Options& options, Console& console) {
  const auto bytes = read_file(options.path);
  if (!bytes) return report_error(console, bytes.error());
  const auto table = read_scores_from(*bytes, options.path, options.wide, options.quiet, console);
  if (!table) return Exit::input_at_fault;
  auto store = open_store(options.store, store::OpenMode::create);
  if (!store) return report_error(console, store.error());
  const auto import = store->import_scores(
      *table, {.name = options.path, .file_fingerprint = base::fingerprint(*bytes)}, now());
  if (!import) return report_error(console, import.error());
  if (!options.quiet)
    console.err << fmt::format("Import {}: {} rows added, {} there already ({})\n", import->number,
                               import->added, import->unchanged, store->path());
  return Exit::done;
}

}  // namespace

Command add_import(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("import", "Take a file of scores into the store");
  command->footer(example);
  command->add_option("scores", options->path, "A CSV file, or - for standard input")
      ->required()
      ->type_name("FILE");
  command->add_option("--wide", options->wide, "The file is wide: a column an item, or a column a rater")
      ->check(CLI::IsMember({"items", "raters"}));
  add_store_option(*command, options->store);
  command->add_flag("--quiet", options->quiet, "Say nothing but errors");
  return {command, [options](Console& console) { return run_import(*options, console); }};
}

}  // namespace evenhand::cli
