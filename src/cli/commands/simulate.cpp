#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cli/commands.hpp"
#include "cli/library_input.hpp"
#include "cli/output.hpp"
#include "competency/library_cases.hpp"
#include "competency/rounds.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"
#include "scores/write.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Lets invented raters with known severity, timing error and habits score a set: for demonstrations, for\n"
    "teaching, for testing a standard. They see the cases with error and apply the rules to what they saw.\n"
    "With several rounds, a year apart, some can come to drift, and items can be misread: what a calibration "
    "has\n"
    "to find out.\n"
    "Examples:\n"
    "  evenhand simulate --set pb-demonstration --raters 24 --seed 2026 --out scores.csv\n"
    "  evenhand simulate --set pb-all --raters 60 --rounds 4 --drifters 3 --drift -4 --drift-from 4 "
    "--misread 3 "
    "--misread 10 --open 7 --ruled-from 3 --out rounds.csv";

struct Options {
  LibraryOptions library;
  OutputOptions output;
  std::string set;
  std::string round;
  std::string start = "2026-09-07T08:00:00Z";
  std::size_t raters = 24;
  std::uint64_t seed = 1;
  std::size_t rounds = 1, drifters = 0, drift_from = 2, ruled_from = 2;
  double drift = -4.0, misread_share = 0.4;
  std::vector<std::string> misread;
  std::string open;
};

/// The cases of a set as they really were, with only the items that the set asks for.
Result<std::vector<competency::TrueCase>> cases_of(const cases::Library& library, const cases::CaseSet& set,
                                                   const instrument::Instrument& instrument,
                                                   Console& console) {
  std::vector<competency::TrueCase> all;
  for (const auto& entry : set.entries) {
    if (const auto found = library.cases.find(entry.case_id.text());
        found != library.cases.end() && found->second.external) {
      console.err << fmt::format("Left out: {} lies outside, and invented raters cannot see it\n",
                                 entry.case_id.text());
      continue;
    }
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

/// One round has the name it was given; several are called by their year, after the name if there is one.
std::vector<RoundId> round_names(const Options& options, base::Time start) {
  if (options.rounds == 1) return {RoundId(options.round)};
  std::vector<RoundId> names;
  const int year = std::stoi(base::to_date(start).substr(0, 4));
  for (std::size_t i = 0; i < options.rounds; ++i)
    names.emplace_back(
        fmt::format("{}{}{}", options.round, options.round.empty() ? "" : "-", year + static_cast<int>(i)));
  return names;
}

competency::RoundsPlan plan_of(const Options& options, base::Time start) {
  competency::RoundsPlan plan{.raters = options.raters,
                              .rounds = round_names(options, start),
                              .seed = options.seed,
                              .start = start,
                              .drifters = options.drifters,
                              .drift = options.drift,
                              .drift_from = options.drift_from};
  for (const std::string& item : options.misread) plan.misread.push_back({item, options.misread_share});
  if (!options.open.empty()) plan.open = {.item = options.open, .ruled_from = options.ruled_from};
  return plan;
}

Exit run_simulate(const Options& options, Console& console) {
  const auto start = base::parse_rfc3339(options.start);
  if (!start) return report_error(console, start.error());
  const auto library = load_library(options.library, console, options.output.quiet);
  if (!library) return Exit::input_at_fault;
  const auto set = set_named(*library, options.set);
  if (!set) return report_error(console, set.error());
  const auto& scoring = *library->instruments.find((*set)->instrument.text())->second.in_force;
  const auto cases = cases_of(*library, **set, scoring.instrument, console);
  if (!cases) return report_error(console, cases.error());
  if (cases->empty())
    return report_error(console,
                        {Errc::invalid, "every case of the set lies outside: there is nothing to simulate"});

  const auto invented = competency::simulate_rounds(plan_of(options, *start), *cases, scoring);
  if (!invented) return report_error(console, invented.error());
  const auto table = scores::table_of(invented->scores);
  if (!table) return report_error(console, table.error());
  give(scores::write_long(*table, scores::Cells::raw), options.output, console);
  if (!options.output.quiet) {
    tell(invented->raters, console);
    console.err << fmt::format("{}, {}, {}, seed {}\n",
                               report::count_of(invented->raters.size(), "rater", "raters"),
                               report::count_of(options.rounds, "round", "rounds"),
                               report::count_of(invented->scores.size(), "score", "scores"), options.seed);
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
  command->add_option("--rounds", options->rounds, "How many rounds, a year apart, named by their year")
      ->check(CLI::Range(1, 50))
      ->capture_default_str();
  command->add_option("--drifters", options->drifters, "How many raters come to score otherwise")
      ->capture_default_str();
  command->add_option("--drift", options->drift, "... by how many points of the total (below 0: lower)")
      ->capture_default_str();
  command->add_option("--drift-from", options->drift_from, "... from this round on")->capture_default_str();
  command
      ->add_option("--misread", options->misread,
                   "An item that some read one level too harshly; may be repeated")
      ->type_name("ITEM");
  command->add_option("--misread-share", options->misread_share, "... this share of the raters")
      ->check(CLI::Range(0.0, 1.0))
      ->capture_default_str();
  command->add_option("--open", options->open, "An item where half go another way when the criteria are open")
      ->type_name("ITEM");
  command->add_option("--ruled-from", options->ruled_from, "... until this round, when it is ruled on")
      ->capture_default_str();
  command->add_option("--start", options->start, "When the first score was given (RFC 3339)")
      ->capture_default_str();
  add_library_option(*command, options->library);
  add_library_store_option(*command, options->library);
  add_output_options(*command, options->output, {"csv"});
  return {command, [options](Console& console) { return run_simulate(*options, console); }};
}

}  // namespace evenhand::cli
