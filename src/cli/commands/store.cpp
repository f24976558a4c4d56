#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cli/commands.hpp"
#include "cli/store_input.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Example:\n"
    "  evenhand store check --store department.db";

struct Options {
  std::string store;
  std::string copy;
  enum class Task : std::uint8_t { check, backup, imports } task = Task::check;
};

Exit check_store(store::Store& store, Console& console) {
  const auto findings = store.check();
  for (const auto& finding : findings) console.out << finding << '\n';
  if (!findings.empty()) return Exit::input_at_fault;
  const auto counts = store.counts();
  if (!counts) return report_error(console, counts.error());
  using report::count_of;
  console.out << fmt::format("{}: in order. {}, {} ({} unfinished), {}, {} from {}.\n", store.path(),
                             count_of(counts->people, "person", "people"),
                             count_of(counts->sittings, "sitting", "sittings"), counts->unfinished,
                             count_of(counts->answers, "answer", "answers"),
                             count_of(counts->scores, "imported score", "imported scores"),
                             count_of(counts->imports, "import", "imports"));
  return Exit::done;
}

Exit list_imports(store::Store& store, Console& console) {
  std::vector<std::vector<std::string>> rows;
  bool any_stands = false;
  for (const auto& one : store.imports()) {
    any_stands = any_stands || !one.undone;
    rows.push_back({std::to_string(one.number), base::to_date(one.at), report::count(one.added),
                    report::count(one.unchanged), one.source.name,
                    one.undone ? "taken back " + base::to_date(*one.undone) : ""});
  }
  if (rows.empty()) {
    console.out << store.path() << ": nothing was imported.\n";
    return Exit::done;
  }
  using report::Align;
  console.out << report::text_table({{"import"},
                                     {"date", Align::left},
                                     {"rows added"},
                                     {"there already"},
                                     {"file", Align::left},
                                     {"", Align::left}},
                                    rows);
  if (any_stands)
    console.err << "To take one back: evenhand import --undo N --store " << store.path() << '\n';
  return Exit::done;
}

Exit run_store(const Options& options, Console& console) {
  auto store = open_store(options.store, store::OpenMode::existing);
  if (!store) return report_error(console, store.error());
  if (options.task == Options::Task::check) return check_store(*store, console);
  if (options.task == Options::Task::imports) return list_imports(*store, console);
  const auto copied = store->backup(options.copy);
  if (!copied) return report_error(console, copied.error());
  console.err << "Written and checked: " << options.copy << '\n';
  return Exit::done;
}

}  // namespace

Command add_store(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("store", "Look after the store: check, back up, list imports");
  command->footer(example);
  command->require_subcommand(1);
  CLI::App* check = command->add_subcommand("check", "Look for damage; exit status 1 if there is any");
  check->footer(example);
  add_store_option(*check, options->store);
  CLI::App* backup = command->add_subcommand("backup", "Write a copy, checked, while others go on working");
  backup->footer("Example:\n  evenhand store backup copy.db --store department.db");
  backup->add_option("copy", options->copy, "The new file")->required()->type_name("FILE");
  add_store_option(*backup, options->store);
  CLI::App* imports = command->add_subcommand("imports", "List what was imported, to take it back");
  imports->footer("Example:\n  evenhand store imports --store department.db");
  add_store_option(*imports, options->store);
  return {command, [options, backup, imports](Console& console) {
            if (backup->parsed()) options->task = Options::Task::backup;
            if (imports->parsed()) options->task = Options::Task::imports;
            return run_store(*options, console);
          }};
}

}  // namespace evenhand::cli
