// How long the calibration of a large round takes, after its scores are read.
//   calibration_bench [RATERS [CASES [ITEMS [THREADS]]]]     2000 x 200 x 14 on 2 threads without arguments

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <cstdlib>
#include <ctime>
#include <string>

#include <fmt/core.h>

#include "base/random.hpp"
#include "calibration/calibration.hpp"

namespace evenhand::calibration {
namespace {

/// Raters who lean, cases that are hard, one in ten scores off by a level, one in two hundred not given.
scores::Resolved round_of(std::size_t raters, std::size_t cases, std::size_t items, const std::string& name) {
  base::Random random(7, name.size() + static_cast<std::uint64_t>(name.back()));
  scores::Resolved round;
  round.round = RoundId(name);
  for (std::size_t r = 0; r < raters; ++r)
    round.raters.push_back({RaterId(fmt::format("r{:05}", r)), SittingId()});
  round.raters.push_back({RaterId("key"), SittingId()});
  for (std::size_t c = 0; c < cases; ++c) round.cases.emplace_back(fmt::format("c{:04}", c));
  for (std::size_t i = 0; i < items; ++i) round.items.emplace_back(fmt::format("i{:02}", i));
  round.categories = {"0", "1", "2", "3", "4"};
  round.numbers = {0, 1, 2, 3, 4};
  round.level = scores::Level::ordinal;
  round.key = raters;
  round.cells.reserve(items * (raters + 1) * cases);
  for (std::size_t i = 0; i < items; ++i)
    for (std::size_t r = 0; r <= raters; ++r)
      for (std::size_t c = 0; c < cases; ++c) {
        int level = static_cast<int>((c * 7 + i * 3) % 5);
        if (r < raters && random.chance(0.005)) {
          round.cells.push_back({scores::Cell::no_score, scores::Status::cannot_rate, true});
          continue;
        }
        if (r < raters && random.chance(0.10))
          level += random.chance(0.3 + 0.4 * double(r) / double(raters)) ? 1 : -1;
        round.cells.push_back({std::clamp(level, 0, 4), scores::Status::observed, true});
      }
  return round;
}

double seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

}  // namespace
}  // namespace evenhand::calibration

int main(int argc, char** argv) {
  using namespace evenhand::calibration;
  const auto number = [&](int place, std::size_t otherwise) {
    return argc > place ? std::strtoul(argv[place], nullptr, 10) : otherwise;
  };
  const std::size_t raters = number(1, 2000), cases = number(2, 200), items = number(3, 14),
                    threads = number(4, 2);
  const std::vector rounds{round_of(raters, cases, items, "2025"), round_of(raters, cases, items, "2026")};
  CalibrationOptions options;
  options.threads = threads;
  for (const std::size_t last : {std::size_t{0}, std::size_t{1}}) {
    const double start = seconds();
    const std::clock_t worked = std::clock();
    const auto report = calibrate(rounds, last, {}, options);
    if (!report) {
      fmt::print(stderr, "{}\n", report.error().message);
      return 1;
    }
    fmt::print(
        "{} raters x {} cases x {} items, {} round(s), {} threads: {:.2f} s, {:.2f} s of processor time\n",
        raters, cases, items, last + 1, threads, seconds() - start,
        static_cast<double>(std::clock() - worked) / CLOCKS_PER_SEC);
  }
  return 0;
}
