#include <charconv>
#include <cstdio>
#include <optional>
#include <string_view>

#include <fmt/format.h>

#include "base/parallel.hpp"
#include "coverage/designs.hpp"

// Simulated coverage of the intervals that the program prints, as CSV on standard output:
//   coverage_study PART REPLICATES SEED
// The approved table is reports/methods/coverage.csv, and reports/methods/coverage.md says how it was made.

namespace {

using namespace evenhand;

std::optional<std::uint64_t> whole(std::string_view text) {
  std::uint64_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return number;
}

int usage() {
  fmt::print(stderr, "usage: coverage_study PART REPLICATES SEED\nparts: {}\n",
             fmt::join(coverage::parts(), ", "));
  return 2;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) return usage();
  const auto designs = coverage::designs_of(argv[1]);
  const auto replicates = whole(argv[2]), seed = whole(argv[3]);
  if (designs.empty() || !replicates || *replicates == 0 || !seed) return usage();
  fmt::print("{}", coverage::csv_header());
  for (const auto& design : designs) {
    for (const auto& row : coverage::simulate(
             design, {.replicates = *replicates, .seed = *seed, .threads = base::hardware_threads()}))
      fmt::print("{}", coverage::csv_line(row));
    std::fflush(stdout);
  }
  return 0;
}
