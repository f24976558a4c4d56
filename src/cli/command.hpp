#pragma once

#include <functional>
#include <iosfwd>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"

namespace CLI {
class App;
}

namespace evenhand::cli {

/// What a script can tell from the exit status; see also `--help`.
enum class Exit {
  done = 0,
  input_at_fault = 1,  ///< the input is at fault, or a check failed
  wrong_usage = 2,     ///< the command line is at fault
  machine_failed = 3,  ///< disk full, store unreachable
};

/// Where a command reads and speaks. Results go to `out`, everything said to a person to `err`.
struct Console {
  std::istream& in;
  std::ostream& out;
  std::ostream& err;
  bool out_is_terminal = false;
  bool in_is_terminal = false;
};

/// One command: what its name and options are, and what it does once they are parsed.
struct Command {
  CLI::App* app;
  std::function<Exit(Console&)> run;
};

/// Says an error to the person, and gives the exit status that goes with its code.
Exit report_error(Console& console, const Error& error);

/// Runs the program as the shell would: `arguments` without the program's name.
/// Nothing is thrown; failing surroundings end as Exit::machine_failed.
Exit run(std::span<const std::string> arguments, Console& console);

}  // namespace evenhand::cli
