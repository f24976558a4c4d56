#include "coverage/tally.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/parallel.hpp"

namespace evenhand::coverage {
namespace {

/// FNV-1a: a number for a cell that does not depend on its place in a list.
std::uint64_t stream_of(const Cell& cell) {
  std::uint64_t hash = 14695981039346656037ULL;
  for (const char c :
       fmt::format("{}|{}|{}|{}|{}", cell.part, cell.shape, cell.severity, cell.cases, cell.raters)) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 1099511628211ULL;
  }
  return hash;
}

struct Counts {
  std::string_view statistic;
  std::size_t replicates = 0, covered = 0, too_high = 0, too_low = 0, no_width = 0;
  std::vector<double> widths;

  void add(const Outcome& o) {
    ++replicates;
    if (!o.lower || !o.upper) return;
    const double lower = *o.lower, upper = *o.upper;
    // A truth of exactly 1 is met by a limit of 1 less rounding.
    constexpr double rounding = 1e-12;
    if (lower > o.truth + rounding)
      ++too_high;
    else if (upper < o.truth - rounding)
      ++too_low;
    else
      ++covered;
    no_width += upper - lower < rounding ? 1 : 0;
    widths.push_back(upper - lower);
  }
};

double median(std::vector<double>& values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

Row row_of(const Cell& cell, Counts& counts) {
  Row row{.cell = cell, .statistic = std::string(counts.statistic), .replicates = counts.replicates};
  row.intervals = counts.widths.size();
  if (row.intervals == 0) return row;
  const auto n = static_cast<double>(row.intervals);
  row.coverage = static_cast<double>(counts.covered) / n;
  row.monte_carlo = std::sqrt(row.coverage * (1.0 - row.coverage) / n);
  row.too_high = static_cast<double>(counts.too_high) / n;
  row.too_low = static_cast<double>(counts.too_low) / n;
  row.no_width = static_cast<double>(counts.no_width) / n;
  row.median_width = median(counts.widths);
  return row;
}

}  // namespace

Outcome outcome(std::string_view statistic, double truth, const agreement::Estimate& estimate) {
  return {statistic, truth, estimate.lower, estimate.upper};
}

double Row::without() const {
  return replicates ? 1.0 - static_cast<double>(intervals) / static_cast<double>(replicates) : 0.0;
}

std::vector<Row> simulate(const Design& design, const StudyOptions& options) {
  std::vector<std::vector<Outcome>> outcomes(options.replicates);
  const std::uint64_t stream = stream_of(design.cell);
  base::in_parallel(options.replicates, options.threads, [&](std::size_t r) {
    base::Random random(options.seed, stream + r);
    outcomes[r] = design.replicate(random);
  });
  std::vector<Counts> counts;
  for (const auto& one : outcomes)
    for (const Outcome& o : one) {
      auto found = std::find_if(counts.begin(), counts.end(),
                                [&](const Counts& c) { return c.statistic == o.statistic; });
      if (found == counts.end())
        found = counts.insert(counts.end(), Counts{.statistic = o.statistic, .widths = {}});
      found->add(o);
    }
  std::vector<Row> rows;
  for (Counts& c : counts) rows.push_back(row_of(design.cell, c));
  return rows;
}

std::string csv_header() {
  return "part,shape,severity,cases,raters,statistic,replicates,without_interval,coverage,monte_carlo,"
         "too_high,too_low,no_width,median_width\n";
}

std::string csv_line(const Row& row) {
  const Cell& c = row.cell;
  const auto start = fmt::format("{},\"{}\",{},{},{},\"{}\",{},{:.4f}", c.part, c.shape, c.severity, c.cases,
                                 c.raters, row.statistic, row.replicates, row.without());
  if (row.intervals == 0) return start + ",,,,,,\n";
  return start + fmt::format(",{:.4f},{:.4f},{:.4f},{:.4f},{:.4f},{:.4g}\n", row.coverage, row.monte_carlo,
                             row.too_high, row.too_low, row.no_width, row.median_width);
}

}  // namespace evenhand::coverage
