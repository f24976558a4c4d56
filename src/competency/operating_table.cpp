#include "competency/operating_table.hpp"

#include <algorithm>
#include <limits>

#include "base/parallel.hpp"

namespace evenhand::competency {
namespace {

constexpr std::size_t whole_case = 14;
constexpr std::size_t half_case = 7;

NamedPlan by_standard(std::string name, Standard standard, std::size_t attempts = 1) {
  return {std::move(name),
          [standard = std::move(standard), attempts](const Scenario& scenario, double share,
                                                     std::size_t raters, std::uint64_t seed) {
            return operating_characteristics(standard, scenario, share, raters, seed, attempts);
          }};
}

NamedPlan in_sequence(std::string name, const SequentialPlan& plan, std::size_t items_per_case) {
  return {std::move(name), [plan, items_per_case](const Scenario& scenario, double share, std::size_t raters,
                                                  std::uint64_t seed) {
            return operating_characteristics(plan, items_per_case, scenario, share, raters, seed);
          }};
}

Standard with(std::size_t items_per_case, std::vector<std::size_t> looks, double level) {
  Standard standard;
  standard.items_per_case = items_per_case;
  standard.looks = std::move(looks);
  standard.levels = {level};
  return standard;
}

}  // namespace

std::vector<NamedScenario> stated_scenarios() {
  return {
      {"independent", {}},
      {"items differ", {.item_sd = 0.8}},
      {"cases .85", {.case_sd = 0.85}},
      {"cases 1.1", {.case_sd = 1.1}},
      {"cases 1.3", {.case_sd = 1.3}},
      {"cases .85, items differ", {.case_sd = 0.85, .item_sd = 0.8}},
      {"15 % able", {.case_sd = 0.6, .able_share = 0.15}},
      {"30 % able", {.case_sd = 0.6, .able_share = 0.30}},
      {"30 % able, items differ", {.case_sd = 0.85, .item_sd = 0.8, .able_share = 0.30}},
  };
}

std::vector<NamedPlan> standard_plans() {
  return {
      by_standard("half 16/24/32, 97 % (default)", Standard{}),
      by_standard("half 16/24/32, 98.5 % (two attempts)", Standard{}, 2),
      by_standard("half 24, one look, 95 %", with(half_case, {24}, 0.95)),
      by_standard("whole 20, one look, 95 %", with(whole_case, {20}, 0.95)),
      by_standard("whole 12/18/24, 97 %", with(whole_case, {12, 18, 24}, 0.97)),
  };
}

std::vector<NamedPlan> sequential_plans() {
  const SequentialPlan shipped;
  SequentialPlan plain;
  plain.design_effect = 1.0;
  plain.least_cases = 1;
  SequentialPlan halves;
  halves.design_effect = 2.0;
  return {
      in_sequence("Wald per whole case, undivided", plain, whole_case),
      in_sequence("Wald per half case, undivided", plain, half_case),
      in_sequence("Wald per whole case, effect 3, 6-30", shipped, whole_case),
      in_sequence("Wald per half case, effect 2, 6-30", halves, half_case),
      in_sequence("Wald per half case, effect 3, 6-30", shipped, half_case),
  };
}

ShareRange range_of(const OperatingRow& row, double Operating::* what, std::size_t share) {
  ShareRange range{.low = std::numeric_limits<double>::max(), .high = std::numeric_limits<double>::lowest()};
  for (const auto& scenario : row.by_scenario) {
    range.low = std::min(range.low, scenario[share].*what);
    range.high = std::max(range.high, scenario[share].*what);
  }
  return range;
}

Result<OperatingRow> operating_row(const NamedPlan& plan, std::span<const NamedScenario> scenarios,
                                   std::size_t raters, std::uint64_t seed, std::size_t threads) {
  constexpr std::size_t shares = operating_shares.size();
  std::vector<std::optional<Operating>> cells(scenarios.size() * shares);
  base::in_parallel(cells.size(), threads, [&](std::size_t cell) {
    cells[cell] =
        plan.simulate(scenarios[cell / shares].scenario, operating_shares[cell % shares], raters, seed);
  });
  OperatingRow row{.plan = plan.name, .by_scenario = {}};
  row.by_scenario.resize(scenarios.size());
  for (std::size_t cell = 0; cell < cells.size(); ++cell) {
    if (!cells[cell])
      return fail(Errc::undefined, "{}: scenario {} cannot be simulated at a true share of {}", plan.name,
                  scenarios[cell / shares].name, operating_shares[cell % shares]);
    row.by_scenario[cell / shares][cell % shares] = *cells[cell];
  }
  return row;
}

}  // namespace evenhand::competency
