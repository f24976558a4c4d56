#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "base/fingerprint.hpp"
#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/files.hpp"
#include "cli/library_input.hpp"
#include "cli/scores_input.hpp"
#include "cli/store_input.hpp"
#include "report/words.hpp"
#include "server/known_scores.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Takes a file of scores into the store: all of it, or nothing when any row is at fault. Cases, items "
    "and\n"
    "scores must be known to the library; of cases of your own (films, live children) name the scale with\n"
    "--instrument. An import can be taken back; `evenhand store imports` lists them.\n"
    "Examples:\n"
    "  evenhand import scores.csv --store department.db\n"
    "  evenhand import --undo 1 --store department.db";

struct Options {
  std::string path;
  std::string wide;
  std::string store;
  std::string instrument;
  LibraryOptions library;
  std::int64_t undo = 0;
  bool quiet = false;
};

std::string rows_words(std::size_t rows) { return report::count_of(rows, "row", "rows"); }

/// Whether everything in the table is known; what is not has been said.
bool is_known(const scores::ScoreTable& table, const Options& options, Console& console) {
  auto of = options.library;
  of.store = store_if_there(options.store);
  const auto library = load_library(of, console, options.quiet);
  if (!library) return false;
  if (!options.instrument.empty())
    if (const auto named = instrument_named(*library, options.instrument); !named) {
      report_error(console, named.error());
      return false;
    }
  const auto faults = server::unknown_scores(table, options.path, *library, options.instrument);
  if (faults.empty()) return true;
  console.err << faults.text() << "Nothing was imported.\n";
  return false;
}

Exit take_in(const Options& options, Console& console) {
  const auto bytes = read_bytes(options.path);
  if (!bytes) return report_error(console, bytes.error());
  const auto table = read_scores_from(bytes->view(), options.path, options.wide, options.quiet, console);
  if (!table || !is_known(*table, options, console)) return Exit::input_at_fault;
  auto store = open_store(options.store, store::OpenMode::create);
  if (!store) return report_error(console, store.error());
  const auto import = store->import_scores(
      *table, {.name = options.path, .file_fingerprint = base::fingerprint(bytes->view())}, now());
  if (!import) return report_error(console, import.error());
  if (!options.quiet)
    console.err << fmt::format(
        "Import {}: {} added, {} there already ({})\n"
        "To take it back: evenhand import --undo {} --store {}\n",
        import->number, rows_words(import->added), report::count(import->unchanged), store->path(),
        import->number, store->path());
  return Exit::done;
}

Exit take_back(const Options& options, Console& console) {
  auto store = open_store(options.store, store::OpenMode::existing);
  if (!store) return report_error(console, store.error());
  for (const auto& one : store->imports())
    if (one.number == options.undo && one.undone)
      return report_error(console, {Errc::conflict, fmt::format("import {} was taken back already, {}",
                                                                one.number, base::to_date(*one.undone))});
  const auto before = store->counts();
  if (!before) return report_error(console, before.error());
  if (const auto undone = store->undo_import(options.undo, now()); !undone)
    return report_error(console, {undone.error().code,
                                  undone.error().message + "; `evenhand store imports` lists what there is"});
  const auto after = store->counts();
  if (!after) return report_error(console, after.error());
  if (!options.quiet)
    console.err << fmt::format("Import {} is taken back: {} gone ({})\n", options.undo,
                               rows_words(before->scores - after->scores), store->path());
  return Exit::done;
}

Exit run_import(const Options& options, Console& console) {
  if (options.path.empty() == (options.undo == 0))
    return report_error(console, {Errc::invalid, "name a file to take in, or an import to --undo"});
  return options.undo == 0 ? take_in(options, console) : take_back(options, console);
}

}  // namespace

Command add_import(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("import", "Take a file of scores into the store, or back out");
  command->footer(example);
  command->add_option("scores", options->path, "A CSV file, or - for standard input")->type_name("FILE");
  command->add_option("--wide", options->wide, "The file is wide: a column an item, or a column a rater")
      ->check(CLI::IsMember({"items", "raters"}));
  command->add_option("--instrument", options->instrument,
                      "The scale of cases that are not in the library: films, live children");
  command->add_option("--undo", options->undo, "Take back the import with this number")
      ->check(CLI::PositiveNumber)
      ->type_name("N");
  add_store_option(*command, options->store);
  add_library_option(*command, options->library);
  command->add_flag("--quiet", options->quiet, "Say nothing but errors");
  return {command, [options](Console& console) { return run_import(*options, console); }};
}

}  // namespace evenhand::cli
