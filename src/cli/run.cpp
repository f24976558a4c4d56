#include <exception>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cli/command.hpp"
#include "cli/commands.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* about =
    "Rater practice and inter-rater reliability: the same child gets the same score, whoever holds the "
    "clipboard.";

constexpr const char* closing =
    "Exit status: 0 done; 1 the input is at fault or a check failed; 2 wrong usage; 3 the machine failed.\n"
    "Try: evenhand key --instrument pediatric-balance --item 4 --observed hold=22\n\n"
    "Practice on written cases supports, and never replaces, supervised practice with children.";

Exit parse_and_run(CLI::App& program, const std::vector<Command>& commands,
                   std::span<const std::string> arguments, Console& console) {
  // CLI11 takes the arguments from the back.
  std::vector<std::string> reversed(arguments.rbegin(), arguments.rend());
  try {
    program.parse(reversed);
  } catch (const CLI::ParseError& error) {
    const bool asked = error.get_exit_code() == 0;  // --help, --version
    program.exit(error, console.out, console.err);
    return asked ? Exit::done : Exit::wrong_usage;
  }
  for (const Command& command : commands)
    if (command.app->parsed()) return command.run(console);
  return Exit::wrong_usage;
}

}  // namespace

Exit report_error(Console& console, const Error& error) {
  console.err << "evenhand: " << error.message << '\n';
  return Exit::input_at_fault;
}

Exit run(std::span<const std::string> arguments, Console& console) {
  try {
    CLI::App program(about, "evenhand");
    program.set_version_flag("--version", "evenhand " EVENHAND_VERSION);
    program.footer(closing);
    program.require_subcommand(1);
    program.get_formatter()->column_width(34);
    const std::vector<Command> commands{
        add_practice(program),    add_check(program),  add_key(program),       add_gray(program),
        add_import(program),      add_export(program), add_agreement(program), add_competency(program),
        add_calibration(program), add_sheet(program),  add_plan(program),      add_simulate(program),
        add_store(program),       add_serve(program),
    };
    return parse_and_run(program, commands, arguments, console);
  } catch (const std::exception& error) {
    console.err << "evenhand: " << error.what() << '\n';
    return Exit::machine_failed;
  }
}

}  // namespace evenhand::cli
