#pragma once

#include <functional>
#include <iosfwd>
#include <string>

#include "cli/command.hpp"

namespace evenhand::cli {

/// What every command that gives a result understands.
struct OutputOptions {
  std::string format;
  std::string path;  ///< empty: standard output
  bool quiet = false;
};

/// Adds `--format` (one of `formats`, the first is the default), `--out` and `--quiet`.
void add_output_options(CLI::App& command, OutputOptions& options, const std::vector<std::string>& formats);

/// Gives the result to the file that was asked for, whole or not at all, else to standard output.
/// Throws MachineFailed.
void give(const std::string& result, const OutputOptions& options, Console& console);
/// The same for a result too large to hold: `write` puts it out piece by piece.
void give_written(const std::function<void(std::ostream&)>& write, const OutputOptions& options,
                  Console& console);

}  // namespace evenhand::cli
