#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "agreement/estimate.hpp"
#include "agreement/percent.hpp"
#include "base/random.hpp"

namespace evenhand::coverage {

/// One interval in one simulated data set, and what it should contain.
struct Outcome {
  std::string_view statistic;
  double truth = 0.0;
  agreement::Value lower;
  agreement::Value upper;
};
Outcome outcome(std::string_view statistic, double truth, const agreement::Estimate& estimate);

/// A design.
struct Cell {
  std::string part;
  std::string shape;
  std::string severity;
  std::size_t cases = 0;
  std::size_t raters = 0;
};

/// Draws a data set and takes its intervals: the same statistics in the same order each time, unless a
/// statistic stands for some data sets only.
using Replicate = std::function<std::vector<Outcome>(base::Random&)>;

struct Design {
  Cell cell;
  Replicate replicate;
};

/// How often an interval contains the truth.
struct Row {
  Cell cell;
  std::string statistic;
  std::size_t replicates = 0;  ///< data sets
  std::size_t intervals = 0;   ///< of them with both limits
  double coverage = 0.0;       ///< share of the intervals that contain the truth
  double monte_carlo = 0.0;    ///< standard error of the coverage
  double too_high = 0.0;       ///< share of intervals that lie above the truth
  double too_low = 0.0;        ///< below it
  double no_width = 0.0;       ///< share of intervals without width
  double median_width = 0.0;

  double without() const;  ///< share of data sets without an interval
};

struct StudyOptions {
  std::size_t replicates = 400;
  std::uint64_t seed = 1;
  std::size_t threads = 1;  ///< they change no digit
};

/// Replicate r draws from a stream of its own, made of the cell's names and numbers and r, so that a cell
/// gives the same row whichever others are run.
std::vector<Row> simulate(const Design& design, const StudyOptions& options);

std::string csv_header();
std::string csv_line(const Row& row);

}  // namespace evenhand::coverage
