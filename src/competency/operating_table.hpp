#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "competency/operating.hpp"

namespace evenhand::competency {

struct NamedScenario {
  std::string name;
  Scenario scenario;
};

/// The range over which a standard's error rates are stated: nine scenarios with a within-case correlation
/// from 0 to about .2, without and with 15 to 30 % able children, without and with items of unequal
/// difficulty.
std::vector<NamedScenario> stated_scenarios();

/// A standard, or a sequential plan, to be simulated.
struct NamedPlan {
  std::string name;
  /// Simulates one cell; nothing where the scenario cannot have the share.
  std::function<std::optional<Operating>(const Scenario&, double true_share, std::size_t raters,
                                         std::uint64_t seed)>
      simulate;
};

/// The shipped standard with one and with two attempts, and what stands beside it: a single look at 24 half
/// cases, whole cases in one and in three looks.
std::vector<NamedPlan> standard_plans();

/// Wald's test, one step a case: plain (no design effect, from the first case on), and with a declared one.
std::vector<NamedPlan> sequential_plans();

/// True shares that the table has columns for.
inline constexpr std::array operating_shares{0.70, 0.75, 0.80, 0.85, 0.90, 0.925, 0.95};

struct OperatingRow {
  std::string plan;
  std::vector<std::array<Operating, operating_shares.size()>> by_scenario;  ///< in the order given
};

struct ShareRange {
  double low = 0.0;
  double high = 0.0;
};
/// Smallest and largest over the scenarios of one of an Operating's numbers.
/// share  place in `operating_shares`
ShareRange range_of(const OperatingRow& row, double Operating::* what, std::size_t share);

/// Simulates a plan in every scenario at every share. Reproducible by seed, whatever the number of threads.
/// Errors: undefined  a scenario cannot have one of the shares, or the plan is none
/// cost    scenarios x 7 x raters decisions: 12,000 raters take some minutes
Result<OperatingRow> operating_row(const NamedPlan& plan, std::span<const NamedScenario> scenarios,
                                   std::size_t raters, std::uint64_t seed, std::size_t threads = 1);

}  // namespace evenhand::competency
