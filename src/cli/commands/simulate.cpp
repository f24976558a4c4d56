#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cli/commands.hpp"
#include "cli/library_input.hpp"
#include "cli/output.hpp"
#include "competency/department.hpp"
#include "competency/library_cases.hpp"
#include "competency/simulated_rater.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"
#include "scores/write.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Lets invented raters with known severity, timing error and habits score a set: for demonstrations, for\n"
    "teaching, for testing a standard. They see the cases with error and apply the rules to what they saw.\n"
    "Example:\n"
    "  evenhand simulate --set pb-demonstration --raters 24 --seed 2026 --out scores.csv";

struct Options {
  LibraryOptions library;
  OutputOptions output;
  std::string set;
  std::string round;
  std::string start = "2026-09-07T08:00:00Z";
  std::size_t raters = 24;
  std::uint64_t seed = 1;
};

/// The cases of a set as they really were, with only the items that the set asks for.
Result<std::vector<competency::TrueCase>> cases_of(const cases::Library& library, const cases::CaseSet& set,
                                                   const instrument::Instrument& instrument) {
  std::vector<competency::TrueCase> all;
  for (const auto& entry : set.entries) {
    auto one = competency::true_case(library, entry.case_id);
    if (!one) return tl::unexpected(one.error());
    std::erase_if(one->items, [&](const competency::TrueItem& item) {
      return std::ranges::find(entry.items, ItemId(instrument.items[item.item].id)) == entry.items.end();
    });
    all.push_back(std::move(*one));
  }
  return all;
}

void tell(const std::vector<competency::SimulatedRater>& raters, Console& console) {
  std::vector<std::vector<std::string>> rows;
  for (const auto& rater : raters) rows.push_back({rater.id.text(), rater.kind});
  console.err << "What is true of them (a report should find it out):\n"
              << report::text_table({{"rater", report::Align::left}, {"kind", report::Align::left}}, rows);
}

Exit run_simulate(const Options& options, Console& console) {
  const auto start = base::parse_rfc3339(options.start);
  if (!start) return report_error(console, start.error());
  const auto library = load_library(options.library, console);
  if (!library) return Exit::input_at_fault;
  const auto set = set_named(*library, options.set);
  if (!set) return report_error(console, set.error());
  const auto& scoring = *library->instruments.find((*set)->instrument.text())->second.in_force;
  const auto cases = cases_of(*library, **set, scoring.instrument);
  if (!cases) return report_error(console, cases.error());

  const auto raters = competency::invent_department(options.raters, options.seed);
  std::vector<scores::Score> all;
  for (const auto& rater : raters) {
    const auto sitting = competency::SimulatedSitting{.round = RoundId(options.round), .start = *start};
    auto given = competency::simulate(rater, *cases, scoring, sitting, options.seed);
    if (!given) return report_error(console, given.error());
    all.insert(all.end(), std::make_move_iterator(given->begin()), std::make_move_iterator(given->end()));
  }
  const auto table = scores::table_of(all);
  if (!table) return report_error(console, table.error());
  give(scores::write_long(*table, scores::Cells::raw), options.output, console);
  if (!options.output.quiet) {
    tell(raters, console);
    console.err << fmt::format("{}, {}, seed {}\n", report::count_of(raters.size(), "rater", "raters"),
                               report::count_of(all.size(), "score", "scores"), options.seed);
  }
  return Exit::done;
}

}  // namespace

Command add_simulate(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("simulate", "Let invented raters score a set");
  command->footer(example);
  command->add_option("--set", options->set, "The set they score")->required();
  command->add_option("--raters", options->raters, "How many raters")
      ->check(CLI::Range(1, 10000))
      ->capture_default_str();
  command->add_option("--seed", options->seed, "The same seed gives the same scores")->capture_default_str();
  command->add_option("--round", options->round, "Name of the round the scores belong to");
  command->add_option("--start", options->start, "When the first score was given (RFC 3339)")
      ->capture_default_str();
  add_library_option(*command, options->library);
  add_output_options(*command, options->output, {"csv"});
  return {command, [options](Console& console) { return run_simulate(*options, console); }};
}

}  // namespace evenhand::cli
