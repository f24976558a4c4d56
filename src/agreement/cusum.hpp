#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "base/error.hpp"

namespace evenhand::agreement {

// Charts of one rater: signed errors (score - key), one a case, in the order of rating. Two charts with one
// purpose, to see a lasting shift that no single case shows. A chart over a handful of yearly rounds is none.

/// A two-sided cumulative sum chart, in score points.
struct CusumChart {
  double target = 0.0;     ///< mean error in control
  double allowance = 1.0;  ///< k: half the shift to be seen
  double limit = 5.0;      ///< h: a signal lies above it
};

struct CusumPoint {
  double high = 0.0;           ///< C+: evidence for scores higher than the target
  double low = 0.0;            ///< C-: evidence for lower ones, counted upward
  std::size_t high_since = 0;  ///< N+: cases in a row with C+ above 0, this one included
  std::size_t low_since = 0;   ///< N-
  bool signal = false;         ///< C+ or C- above the limit
};

struct Cusum {
  std::vector<CusumPoint> points;           ///< one a case; the chart goes on after a signal
  std::optional<std::size_t> first_signal;  ///< place of the case
  bool upward = false;                      ///< the signal says: scores have become higher
  /// Cases before the change by the chart's own reckoning: the first signal less its run N.
  std::optional<std::size_t> changed_after;
};

/// C+ = max(0, e - (target + k) + C+ before), C- = max(0, (target - k) - e + C- before), both from 0.
/// errors  finite; none gives an empty chart
/// Errors: invalid  an error or a number of the chart is not finite, allowance below 0, limit not above 0
///
/// Page ES (1954). Continuous inspection schemes. Biometrika 41:100-115; in the tabular form of Montgomery
/// DC, Introduction to Statistical Quality Control, chapter 9, whose worked example is in the tests.
Result<Cusum> cusum(std::span<const double> errors, const CusumChart& chart);

/// An exponentially weighted moving average chart, in score points.
struct EwmaChart {
  double target = 0.0;
  double weight = 0.2;  ///< lambda, of the newest case, in (0, 1]
  double sd = 1.0;      ///< of single errors in control
  double width = 2.7;   ///< L: half-width of the limits in SDs of the average
};

struct EwmaPoint {
  double average = 0.0;
  double lower = 0.0;
  double upper = 0.0;
  bool signal = false;  ///< outside the limits
};

struct Ewma {
  std::vector<EwmaPoint> points;
  std::optional<std::size_t> first_signal;
};

/// z = weight e + (1 - weight) z before, from the target; limits
/// target -/+ width sd sqrt(weight / (2 - weight) (1 - (1 - weight)^(2 i))) at case i.
/// Errors: invalid  something is not finite, weight outside (0, 1], sd or width not above 0
///
/// Roberts SW (1959). Technometrics 1:239-250; limits as in Lucas JM, Saccucci MS (1990). Technometrics
/// 32:1-12, those that grow from the first case on.
Result<Ewma> ewma(std::span<const double> errors, const EwmaChart& chart);

// Errors of a rater are whole points, few of them different from 0 and none beyond the ends of the scale.
// Limits from tables for normal errors do not hold for them: they are found by simulation, drawing
// from errors that were made in control (of this rater's own calibration, or of sound peers on a like set).

struct RunLength {
  double mean = 0.0;   ///< cases until the first signal
  double error = 0.0;  ///< Monte Carlo standard error
  std::size_t runs = 0;
};

struct RunOptions {
  double average = 200.0;  ///< cases between false signals that the limit is to give, at least
  std::size_t runs = 2000;
  std::uint64_t seed = 1;
};

/// Mean run length when the errors are drawn, with replacement, from `errors` + shift. A run that has not
/// ended after 50 `average` cases is cut there, so a mean near that is a lower bound.
/// Errors: invalid  as the chart's own; no errors, no runs, or an average below 1
Result<RunLength> average_run(std::span<const double> errors, const CusumChart& chart, double shift,
                              const RunOptions& options = {});
Result<RunLength> average_run(std::span<const double> errors, const EwmaChart& chart, double shift,
                              const RunOptions& options = {});

template <class Chart>
struct Designed {
  Chart chart;
  RunLength in_control;  ///< measured on draws other than those that chose the limit
};

/// The chart with the smallest limit whose mean run in control is at least the one asked for. Discrete errors
/// give run lengths in steps, so that it may be longer.
///
/// errors   made in control, at least two different ones
/// shift    in score points: the lasting change to be seen; the allowance is half of it
/// target   mean of the errors when absent
/// Errors: invalid    an error is not finite, shift not above 0, no runs, an average below 1
///         undefined  fewer than two errors or all alike; the errors reach no limit (a shift too wide for
///         them)
/// Reproducible by seed, one stream a run.
Result<Designed<CusumChart>> design_cusum(std::span<const double> errors, double shift,
                                          std::optional<double> target = {}, const RunOptions& options = {});

/// The same for the average: `weight` is given, the SD is that of the errors about the target, and the width
/// is found.
Result<Designed<EwmaChart>> design_ewma(std::span<const double> errors, double weight,
                                        std::optional<double> target = {}, const RunOptions& options = {});

}  // namespace evenhand::agreement
