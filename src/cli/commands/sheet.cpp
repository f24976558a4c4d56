#include <memory>

#include <CLI/CLI.hpp>

#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/library_input.hpp"
#include "cli/output.hpp"
#include "cli/paper.hpp"
#include "report/score_sheet.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "A score sheet to print for every case of a set: what is observed, the trials, and one box for each "
    "score.\n"
    "No key is on it.\n"
    "Example:\n"
    "  evenhand sheet pb-demonstration --out sheet.html";

struct Options {
  LibraryOptions library;
  OutputOptions output;
  PaperOption paper;
  std::string set, date;
};

Exit run_sheet(const Options& options, Console& console) {
  const auto library = load_library(options.library, console, options.output.quiet);
  if (!library) return Exit::input_at_fault;
  const auto set = set_named(*library, options.set);
  if (!set) return report_error(console, set.error());
  const std::string program = "evenhand " EVENHAND_VERSION;
  const std::string page = report::score_sheet_html(
      *library, **set, {program, options.date.empty() ? base::to_date(now()) : options.date});
  if (options.output.format == "html") {
    give(page, options.output, console);
    return Exit::done;
  }
  const auto paper =
      on_paper(page, {"Score sheet: " + (*set)->title, program, report::set_code(*library, **set), "set"},
               options.paper);
  if (!paper) return report_error(console, paper.error());
  give(*paper, options.output, console);
  return Exit::done;
}

}  // namespace

Command add_sheet(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("sheet", "Score sheets to print for a set");
  command->footer(example);
  command->add_option("set", options->set, "Id of the set")->required();
  command->add_option("--date", options->date, "Date on the sheet (default: today, UTC)");
  add_output_options(*command, options->output, {"html", "pdf"});
  add_paper_option(*command, options->paper);
  add_library_option(*command, options->library);
  add_library_store_option(*command, options->library);
  return {command, [options](Console& console) { return run_sheet(*options, console); }};
}

}  // namespace evenhand::cli
