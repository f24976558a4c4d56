#include <memory>
#include <ostream>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "cli/clock.hpp"
#include "cli/library_input.hpp"
#include "cli/store_input.hpp"
#include "cli/store_tasks.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"
#include "store/rounds.hpp"

namespace evenhand::cli {
namespace {

struct Options {
  std::string store, id, set, title, closes;
  std::vector<std::string> groups;
  LibraryOptions library;
};

using Work = Exit (*)(store::Store&, const Options&, Console&);

Exit with_store(const Options& options, Work work, Console& console) {
  auto store = open_store(options.store, store::OpenMode::existing);
  if (!store) return report_error(console, store.error());
  store::close_due_rounds(*store, now());
  return work(*store, options, console);
}

std::string state_of(const store::Round& round) {
  if (round.locked) return "locked " + base::to_date(*round.locked);
  if (round.closed) return "closed " + base::to_date(*round.closed);
  return round.closes ? "open until " + base::to_date(*round.closes) : "open";
}

/// How many began, and how many of them handed in; scores that were imported have neither.
std::string taken_words(store::Store& store, const store::Round& round) {
  const auto table = store.scores({.round = round.id});
  return table ? report::count_of(table->raters().size(), "rater", "raters") : "?";
}

Exit list_rounds(store::Store& store, const Options&, Console& console) {
  std::vector<std::vector<std::string>> rows;
  for (const auto& round : store::rounds(store)) {
    const auto invited = round.for_groups ? report::count_of(round.groups.size(), "group", "groups")
                                          : std::string("everybody");
    rows.push_back({round.id.text(), base::to_date(round.opened), state_of(round), round.set.text(), invited,
                    taken_words(store, round), round.title});
  }
  if (rows.empty()) {
    console.out << store.path()
                << ": no round was opened. evenhand store open-round ID --set SET opens one.\n";
    return Exit::done;
  }
  using report::Align;
  console.out << report::text_table({{"round", Align::left},
                                     {"opened", Align::left},
                                     {"state", Align::left},
                                     {"set", Align::left},
                                     {"for", Align::left},
                                     {"scored by", Align::left},
                                     {"title", Align::left}},
                                    rows);
  return Exit::done;
}

/// A day is over at its end.
Result<base::Time> time_of(const std::string& text) {
  constexpr std::size_t day_only = 10;
  auto time = base::parse_rfc3339(text.size() == day_only ? text + "T23:59:59Z" : text);
  if (!time)
    return fail(Errc::invalid, "--closes {}: write a day as 2026-12-31, or a time as RFC 3339", text);
  return time;
}

Error rivals(const store::Round& other) {
  return {Errc::conflict,
          fmt::format("the round {} ({}) is open on this set for some of the same raters, who "
                      "would score the same children twice: close it first, invite others, "
                      "or take another set",
                      other.id.text(), other.title)};
}

Exit open_round(store::Store& store, const Options& options, Console& console) {
  auto of = options.library;
  of.store = options.store;
  const auto library = load_library(of, console);
  if (!library) return Exit::input_at_fault;
  const auto set = set_named(*library, options.set);
  if (!set) return report_error(console, set.error());
  if ((*set)->mode != cases::Mode::calibration)
    return report_error(console,
                        {Errc::invalid, fmt::format("the set {} is for {}; a round takes a set of mode "
                                                    "calibration",
                                                    options.set, cases::to_string((*set)->mode))});
  store::Round round{.id = RoundId(options.id),
                     .title = options.title.empty() ? (*set)->title : options.title,
                     .set = (*set)->id,
                     .opened = now()};
  if (!options.closes.empty()) {
    const auto closes = time_of(options.closes);
    if (!closes) return report_error(console, closes.error());
    round.closes = *closes;
  }
  round.for_groups = !options.groups.empty();
  for (const auto& group : options.groups) round.groups.emplace_back(group);
  if (const auto rival = store::rival_of(store, round)) return report_error(console, rivals(*rival));
  if (const auto added = store::add_round(store, round); !added) return report_error(console, added.error());
  console.err << fmt::format(
      "{} is open. Raters score it with: evenhand practice --set {}, or on the site.\n"
      "Reasons are told when it closes: evenhand store close-round {}\n",
      round.title, round.set.text(), round.id.text());
  return Exit::done;
}

Exit close_round(store::Store& store, const Options& options, Console& console) {
  const RoundId id(options.id);
  if (const auto closed = store::close_round(store, id, now()); !closed)
    return report_error(console, closed.error());
  console.err << "Closed: it takes no more scores, and its raters may see the reasons.\n";
  return Exit::done;
}

Exit reopen_round(store::Store& store, const Options& options, Console& console) {
  const auto known = store::round(store, RoundId(options.id));
  if (known && known->closed && !known->locked)
    if (const auto rival = store::rival_of(store, *known)) return report_error(console, rivals(*rival));
  if (const auto opened = store::reopen_round(store, RoundId(options.id)); !opened)
    return report_error(console, opened.error());
  console.err << "Open again. Whoever looked meanwhile has seen reasons: say so where the result is used.\n";
  return Exit::done;
}

Exit lock_round(store::Store& store, const Options& options, Console& console) {
  const RoundId id(options.id);
  const auto table = store.scores({.round = id});
  if (!table) return report_error(console, table.error());
  const auto mark = scores::fingerprint(*table);
  if (const auto locked = store::lock_round(store, id, mark, now()); !locked)
    return report_error(console, locked.error());
  const auto known = store::round(store, id);
  if (!known) return report_error(console, known.error());
  console.out << fmt::format("Locked for good. Fingerprint of its scores: {}\n", known->data_fingerprint);
  return Exit::done;
}

CLI::App* add_task(CLI::App& store, Options& options, const std::string& name, const std::string& says,
                   const std::string& example) {
  CLI::App* task = store.add_subcommand(name, says);
  task->footer("Example:\n  evenhand store " + example);
  add_store_option(*task, options.store);
  if (name != "rounds") task->add_option("id", options.id, "The round")->required()->type_name("ID");
  return task;
}

}  // namespace

std::vector<StoreTask> add_round_tasks(CLI::App& command) {
  auto options = std::make_shared<Options>();
  CLI::App* list =
      add_task(command, *options, "rounds", "List the calibration rounds", "rounds --store department.db");
  CLI::App* open =
      add_task(command, *options, "open-round", "Open a calibration round: raters may score its set",
               "open-round spring --set pb-round-demonstration --closes 2026-12-18");
  open->add_option("--set", options->set, "The set that is scored, of mode calibration")->required();
  open->add_option("--title", options->title, "What raters see (default: the title of the set)");
  open->add_option("--closes", options->closes, "When it closes by itself: the end of a day, or a time")
      ->type_name("DATE");
  open->add_option("--group", options->groups,
                   "Invite this group (its id); may be repeated (default: everybody)")
      ->type_name("ID");
  add_library_option(*open, options->library);
  CLI::App* close =
      add_task(command, *options, "close-round", "Close a round: no more scores, reasons are told",
               "close-round spring --store department.db");
  CLI::App* reopen = add_task(command, *options, "reopen-round", "Open a closed round again",
                              "reopen-round spring --store department.db");
  CLI::App* lock = add_task(command, *options, "lock-round", "Lock a closed round for good",
                            "lock-round spring --store department.db");
  const auto doing = [options](Work work) {
    return [options, work](Console& console) { return with_store(*options, work, console); };
  };
  return {{list, doing(list_rounds)},
          {open, doing(open_round)},
          {close, doing(close_round)},
          {reopen, doing(reopen_round)},
          {lock, doing(lock_round)}};
}

}  // namespace evenhand::cli
