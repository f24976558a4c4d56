#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cli/commands.hpp"
#include "cli/store_input.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Example:\n"
    "  evenhand store check --store department.db";

struct Options {
  std::string store;
  std::string copy;
  bool backup = false;
};

Exit check_store(store::Store& store, Console& console) {
  const auto findings = store.check();
  for (const auto& finding : findings) console.out << finding << '\n';
  if (!findings.empty()) return Exit::input_at_fault;
  const auto counts = store.counts();
  if (!counts) return report_error(console, counts.error());
  console.out << fmt::format(
      "{}: in order. {} people, {} sittings ({} unfinished), {} answers, {} imported scores from {} "
      "imports.\n",
      store.path(), counts->people, counts->sittings, counts->unfinished, counts->answers, counts->scores,
      counts->imports);
  return Exit::done;
}

Exit run_store(const Options& options, Console& console) {
  auto store = open_store(options.store, store::OpenMode::existing);
  if (!store) return report_error(console, store.error());
  if (!options.backup) return check_store(*store, console);
  const auto copied = store->backup(options.copy);
  if (!copied) return report_error(console, copied.error());
  console.err << "Written and checked: " << options.copy << '\n';
  return Exit::done;
}

}  // namespace

Command add_store(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("store", "Look after the store: check or back up");
  command->footer(example);
  command->require_subcommand(1);
  CLI::App* check = command->add_subcommand("check", "Look for damage; exit status 1 if there is any");
  check->footer(example);
  add_store_option(*check, options->store);
  CLI::App* backup = command->add_subcommand("backup", "Write a copy, checked, while others go on working");
  backup->footer("Example:\n  evenhand store backup copy.db --store department.db");
  backup->add_option("copy", options->copy, "The new file")->required()->type_name("FILE");
  add_store_option(*backup, options->store);
  return {command, [options, backup](Console& console) {
            options->backup = backup->parsed();
            return run_store(*options, console);
          }};
}

}  // namespace evenhand::cli
