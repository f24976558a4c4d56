#include <memory>

#include <CLI/CLI.hpp>

#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/output.hpp"
#include "cli/store_input.hpp"
#include "report/tables.hpp"
#include "scores/write.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Gives the scores in the store in long form: a row a score, with what was written down. As CSV, as JSON, "
    "or\n"
    "as a workbook (XLSX) that says what each column is.\n"
    "Example:\n"
    "  evenhand export --store department.db --rater ann --out ann.csv";

struct Options {
  OutputOptions output;
  std::string store, rater, round, set;
  bool raw = false;
};

Exit run_export(const Options& options, Console& console) {
  auto store = open_store(options.store, store::OpenMode::existing);
  if (!store) return report_error(console, store.error());
  store::ScoreFilter filter;
  if (!options.rater.empty()) filter.rater = RaterId(options.rater);
  if (!options.round.empty()) filter.round = RoundId(options.round);
  if (!options.set.empty()) filter.set = SetId(options.set);
  const auto table = store->scores(filter);
  if (!table) return report_error(console, table.error());
  if (table->empty()) return report_error(console, {Errc::not_found, "no scores in the store match"});
  if (options.output.format == "xlsx") {
    const auto book = report::xlsx_of(
        report::scores_tables(*table, options.store, base::to_date(now()), "evenhand " EVENHAND_VERSION));
    if (!book) return report_error(console, book.error());
    give(*book, options.output, console);
    return Exit::done;
  }
  if (options.output.format == "json") {
    give(report::scores_json(*table), options.output, console);
    return Exit::done;
  }
  give(scores::write_long(*table, options.raw ? scores::Cells::raw : scores::Cells::defused), options.output,
       console);
  return Exit::done;
}

}  // namespace

Command add_export(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("export", "Give the scores in the store");
  command->footer(example);
  add_store_option(*command, options->store);
  command->add_option("--rater", options->rater, "Only this rater");
  command->add_option("--round", options->round, "Only this round");
  command->add_option("--set", options->set, "Only sittings at this set");
  command->add_flag("--raw", options->raw,
                    "Leave text that a spreadsheet would take for a formula as it is (for programs)");
  add_output_options(*command, options->output, {"csv", "xlsx", "json"});
  return {command, [options](Console& console) { return run_export(*options, console); }};
}

}  // namespace evenhand::cli
