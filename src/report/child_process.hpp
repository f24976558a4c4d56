#pragma once

#include <chrono>
#include <string>
#include <string_view>
#include <vector>

namespace evenhand::report {

/// How a program ended, and what it said.
struct Finished {
  int status = -1;  ///< exit status; 128 + n when signal n ended it
  bool timed_out = false;
  std::string output;
  std::string said;  ///< on standard error
};

/// Runs a program to its end: no shell, no environment but a usual PATH, a neutral locale and what is given,
/// nothing open but its three streams, in a new folder of its own that is removed afterwards and is its
/// home. Past the time limit it and what it started are killed.
///
/// program    a path
/// arguments  without the program's own name
/// more       of the environment: "NAME=value"
/// Throws std::system_error when the surroundings fail (no folder, no process).
Finished run_program(const std::string& program, const std::vector<std::string>& arguments,
                     std::string_view input, std::chrono::milliseconds time_limit,
                     const std::vector<std::string>& more = {});

/// The path of a program that PATH leads to (or that already is a path); empty when there is none.
std::string find_program(const std::string& name);

}  // namespace evenhand::report
