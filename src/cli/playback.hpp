#pragma once

#include <vector>

#include "cases/case.hpp"
#include "cli/command.hpp"

namespace evenhand::cli {

/// A timeline played as live text. Enter is the stopwatch.
struct Played {
  std::vector<double> presses;  ///< seconds of the trial at which Enter was pressed
};

/// Plays the moments of a trial in real time (`speed` times as fast), each line when it happens. Presses are
/// timed when they arrive, on the clock that the moments go by, and given in seconds of the trial. Only a
/// terminal can press; elsewhere the moments are written one after the other, each with its second, since
/// there is no watch, and nothing is waited for.
Played play(const cases::Trial& trial, double speed, Console& console);

/// Between the first press and the second, in seconds; nothing without two presses.
std::optional<double> reading_of(const Played& played);

}  // namespace evenhand::cli
