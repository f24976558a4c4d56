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
#include "report/words.hpp"
#include "server/api/begin.hpp"

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

Exit run_practice(Options options, Console& console) {
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
  base::Random random(fresh_seed());
  const auto begun = server::begin_or_resume(
      *store, *library, {RaterId(options.rater), **set, options.seed, now(), true}, random);
  if (!begun) return report_error(console, begun.error());
  console.out << fmt::format(
      "\n{}\nPractice in scoring is no permission to test children. ? for help, q to leave.\n",
      (*set)->title);
  return sit(
      {*library, **set, *instrument.in_force, *store, begun->sitting.id, begun->sitting.seed, options.speed},
      console);
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
