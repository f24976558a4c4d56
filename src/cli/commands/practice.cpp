#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/library_input.hpp"
#include "cli/practice_sitting.hpp"
#include "cli/prompt.hpp"
#include "cli/store_input.hpp"
#include "practice/telling.hpp"
#include "report/words.hpp"
#include "server/api/begin.hpp"
#include "store/rounds.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "A sitting in the terminal: read or watch each trial, time it with Enter, write down what you saw, score "
    "it, and\n"
    "learn the reason. Leave with q; the same command goes on where you stopped.\n"
    "Example:\n"
    "  evenhand practice --set pb-first-steps --rater ann";

struct Options {
  LibraryOptions library;
  std::string store, set, rater;
  double speed = 1.0;
  std::uint64_t seed = 0;
};

constexpr const char* first_set = "pb-first-steps";

void list_sets(const cases::Library& library, Console& console) {
  console.out << "Sets to practice with (--set):\n";
  for (const auto& [id, set] : library.sets) {
    std::size_t items = 0;
    for (const auto& entry : set.entries) items += entry.items.size();
    console.out << fmt::format("  {:<20} {} ({}, {})\n", id, set.title,
                               report::count_of(set.entries.size(), "case", "cases"),
                               report::count_of(items, "item", "items"));
  }
}

/// The latest sitting at a calibration set whose round is closed: its reasons may be told.
std::optional<store::Sitting> told_at_last(store::Store& store, const RaterId& rater,
                                           const cases::CaseSet& set) {
  if (set.mode != cases::Mode::calibration) return std::nullopt;
  for (auto& one : store.sittings_of(rater)) {
    if (one.set != set.id || one.round.empty()) continue;
    const auto round = store::round(store, one.round);
    if (practice::reasons_open(set.mode, one.finished.has_value(), round && round->closed))
      return std::move(one);
  }
  return std::nullopt;
}

Exit run_practice(Options options, Console& console) {
  options.library.store = store_if_there(options.store);
  const auto library = load_library(options.library, console);
  if (!library) return Exit::input_at_fault;
  if (options.set.empty()) {
    list_sets(*library, console);
    options.set = first_set;
    console.out << fmt::format("Taking {}.\n", options.set);
  }
  const auto set = set_named(*library, options.set);
  if (!set) return report_error(console, set.error());
  try {
    if (options.rater.empty())
      options.rater = ask_line(console, "Your rater id (a short name of your own choice): ");
  } catch (const Leave&) {
    return Exit::done;
  }
  auto store = open_store(options.store, store::OpenMode::create);
  if (!store) return report_error(console, store.error());
  const auto& instrument = library->instruments.find((*set)->instrument.text())->second;
  store::close_due_rounds(*store, now());
  base::Random random(fresh_seed());
  const RaterId rater(options.rater);
  const auto begun = server::begin_or_resume(*store, *library, {rater, **set, options.seed, now()}, random);
  const auto sitting_at = [&](const store::Sitting& one) {
    return PracticeSitting{*library, **set,    *instrument.in_force, *store,
                           one.id,   one.seed, options.speed,        one.instrument_fingerprint};
  };
  if (!begun) {
    const auto told = told_at_last(*store, rater, **set);
    if (!told) return report_error(console, begun.error());
    console.out << fmt::format("\n{}\nThe round is closed.\n", (*set)->title);
    return review(sitting_at(*told), console);
  }
  console.out << fmt::format(
      "\n{}\nPractice in scoring is no permission to test children. ? for help, q to leave.\n",
      (*set)->title);
  return sit(sitting_at(begun->sitting), console);
}

}  // namespace

Command add_practice(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("practice", "A practice sitting in the terminal");
  command->footer(example);
  command->add_option("--set", options->set, "The set (default: pb-first-steps, after a list of all)");
  command->add_option("--rater", options->rater, "Your rater id (asked for when left out)");
  command->add_option("--seed", options->seed,
                      "Shuffle the cases (default: as in the set); a sitting that goes on keeps its order");
  command->add_option("--speed", options->speed, "Play timed trials so many times as fast")
      ->check(CLI::Range(0.1, 1000.0))
      ->capture_default_str();
  add_store_option(*command, options->store);
  add_library_option(*command, options->library);
  return {command, [options](Console& console) { return run_practice(*options, console); }};
}

}  // namespace evenhand::cli
