#include <istream>
#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/store_input.hpp"
#include "cli/store_tasks.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"
#include "store/person_data.hpp"
#include "store/restore.hpp"

namespace evenhand::cli {
namespace {

using report::count_of;

struct Options {
  std::string store;
  std::string copy;
  std::string rater;
  std::int64_t number = 0;
  bool replace = false;
  bool yes = false;
};

/// A subcommand and what it does.
struct Task {
  CLI::App* app;
  Exit (*run)(const Options&, Console&);
};

/// What most of them do with an open store.
template <Exit (*work)(store::Store&, const Options&, Console&)>
Exit with_store(const Options& options, Console& console) {
  auto store = open_store(options.store, store::OpenMode::existing);
  if (!store) return report_error(console, store.error());
  return work(*store, options, console);
}

Exit check_store(store::Store& store, const Options&, Console& console) {
  const auto findings = store.check();
  for (const auto& finding : findings) console.out << finding << '\n';
  if (!findings.empty()) return Exit::input_at_fault;
  const auto counts = store.counts();
  if (!counts) return report_error(console, counts.error());
  console.out << fmt::format("{}: in order. {}, {} ({} unfinished), {}, {} from {}.\n", store.path(),
                             count_of(counts->people, "person", "people"),
                             count_of(counts->sittings, "sitting", "sittings"), counts->unfinished,
                             count_of(counts->answers, "answer", "answers"),
                             count_of(counts->scores, "imported score", "imported scores"),
                             count_of(counts->imports, "import", "imports"));
  return Exit::done;
}

Exit list_imports(store::Store& store, const Options&, Console& console) {
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

Exit undo_import(store::Store& store, const Options& options, Console& console) {
  const auto before = store.counts();
  if (!before) return report_error(console, before.error());
  for (const auto& one : store.imports())
    if (one.number == options.number && one.undone)
      return report_error(console, {Errc::conflict, fmt::format("import {} was taken back already, {}",
                                                                one.number, base::to_date(*one.undone))});
  if (const auto undone = store.undo_import(options.number, now()); !undone)
    return report_error(console, undone.error());
  const auto after = store.counts();
  if (!after) return report_error(console, after.error());
  console.err << fmt::format("Import {} is taken back: {} gone ({})\n", options.number,
                             count_of(before->scores - after->scores, "row", "rows"), store.path());
  return Exit::done;
}

Exit back_up(store::Store& store, const Options& options, Console& console) {
  const auto copied = store.backup(options.copy);
  if (!copied) return report_error(console, copied.error());
  console.err << "Written and checked: " << options.copy << '\n';
  return Exit::done;
}

Exit restore_store(const Options& options, Console& console) {
  const auto standing = options.replace ? store::Standing::keep_beside : store::Standing::refuse;
  const auto kept = store::restore(options.copy, options.store, standing, now());
  if (!kept) {
    Error error = kept.error();
    if (error.code == Errc::conflict && !options.replace) error.message += " (--replace keeps it beside)";
    return report_error(console, error);
  }
  console.err << fmt::format("Checked and restored: {}\n", options.store);
  if (*kept) console.err << fmt::format("The store that was there is kept: {}\n", **kept);
  console.err << "Everyone signs in again. People who were erased after the backup are in it again: erase "
                 "them once more.\n";
  return Exit::done;
}

std::string what_goes(const store::PersonData& data) {
  std::size_t answers = 0;
  for (const auto& sitting : data.sittings) answers += sitting.revisions.size();
  std::string text = fmt::format("{}: ", data.rater.text());
  text += data.account ? fmt::format("an account ({}, made {})", word(data.account->role),
                                     base::to_date(data.account->made))
                       : "no account";
  text += fmt::format(", {}, {}, {}, {}, {}", count_of(data.sessions.size(), "session", "sessions"),
                      count_of(data.sittings.size(), "sitting", "sittings"),
                      count_of(answers, "answer", "answers"),
                      count_of(data.imported.size(), "imported score", "imported scores"),
                      count_of(data.sets.size(), "set of their own", "sets of their own"));
  if (!data.looks_after.empty())
    text += fmt::format(", and {} they look after (the members stay)",
                        count_of(data.looks_after.size(), "group", "groups"));
  return text +
         ".\nThis cannot be undone. Backups and copies that were made earlier still hold the person.\n";
}

/// Whether the person at the terminal typed the rater's id.
bool confirmed(const Options& options, Console& console) {
  console.err << "Type the rater's id to erase all of this: " << std::flush;
  std::string line;
  return std::getline(console.in, line) && line == options.rater;
}

Exit erase_rater(store::Store& store, const Options& options, Console& console) {
  const RaterId rater(options.rater);
  const auto data = everything_of(store, rater);
  if (!data) return report_error(console, data.error());
  console.err << what_goes(*data);
  if (!options.yes) {
    if (!console.in_is_terminal)
      return report_error(console, {Errc::invalid, "nothing was erased; say --yes to erase without asking"});
    if (!confirmed(options, console))
      return report_error(console, {Errc::invalid, "that is another id; nothing was erased"});
  }
  if (const auto erased = erase(store, rater, now()); !erased) return report_error(console, erased.error());
  console.err << "Erased. That a person was erased stays on record, not who.\n";
  return Exit::done;
}

CLI::App* add_task(CLI::App& command, Options& options, const std::string& name, const std::string& says,
                   const std::string& example) {
  CLI::App* task = command.add_subcommand(name, says);
  task->footer("Example:\n  evenhand store " + example);
  add_store_option(*task, options.store);
  return task;
}

std::vector<Task> add_tasks(CLI::App& command, Options& options) {
  CLI::App* check = add_task(command, options, "check", "Look for damage; exit status 1 if there is any",
                             "check --store department.db");
  CLI::App* backup = add_task(command, options, "backup", "Write a copy, checked, while others go on working",
                              "backup copy.db --store department.db");
  backup->add_option("copy", options.copy, "The new file")->required()->type_name("FILE");
  CLI::App* restore = add_task(command, options, "restore", "Put a backup, checked, in the store's place",
                               "restore copy.db --replace --store department.db");
  restore->add_option("backup", options.copy, "The backup")->required()->type_name("FILE");
  restore->add_flag("--replace", options.replace, "Also when there is a store; that is kept beside it");
  CLI::App* imports = add_task(command, options, "imports", "List what was imported, to take it back",
                               "imports --store department.db");
  CLI::App* undo = add_task(command, options, "undo-import", "Take back what an import brought",
                            "undo-import 1 --store department.db");
  undo->add_option("number", options.number, "The import, as `imports` lists it")
      ->required()
      ->check(CLI::PositiveNumber)
      ->type_name("N");
  CLI::App* erase = add_task(command, options, "erase", "Erase a person and all that is kept of them",
                             "erase --rater ann --store department.db");
  erase->add_option("--rater", options.rater, "Whom")->required()->type_name("ID");
  erase->add_flag("--yes", options.yes, "Do not ask");
  return {{check, with_store<check_store>}, {backup, with_store<back_up>},
          {restore, restore_store},         {imports, with_store<list_imports>},
          {undo, with_store<undo_import>},  {erase, with_store<erase_rater>}};
}

}  // namespace

Command add_store(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand(
      "store", "Look after the store: check, back up, restore, rounds, erase a person");
  command->footer("Example:\n  evenhand store check --store department.db");
  command->require_subcommand(1);
  return {command, [options, tasks = add_tasks(*command, *options),
                    rounds = add_round_tasks(*command)](Console& console) {
            for (const Task& task : tasks)
              if (task.app->parsed()) return task.run(*options, console);
            for (const StoreTask& task : rounds)
              if (task.app->parsed()) return task.run(console);
            return Exit::wrong_usage;
          }};
}

}  // namespace evenhand::cli
