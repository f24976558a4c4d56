#include "competency/operating_table.hpp"

#include <catch2/catch.hpp>

namespace evenhand::competency {
namespace {

constexpr std::size_t at_edge = 2;  // .80

}  // namespace

// A slice of reports/methods/operating-characteristics.md: the promise of the standard in all nine scenarios.
TEST_CASE("false-ready keeps to 5 % in every stated scenario", "[property]") {
  const auto scenarios = stated_scenarios();
  const auto row = operating_row(standard_plans().front(), scenarios, 250, 20261125).value();
  REQUIRE(row.by_scenario.size() == 9);
  for (std::size_t s = 0; s < scenarios.size(); ++s) {
    INFO(scenarios[s].name);
    const Operating& edge = row.by_scenario[s][at_edge];
    CHECK(edge.correlation > -0.01);
    CHECK(edge.correlation < 0.22);
    CHECK(edge.ready <= 0.05 + 3 * edge.error_of(0.05));
    CHECK(row.by_scenario[s].back().ready > 0.97);
  }
  // standard.md: 84 to 95 % ready at .90, give or take three Monte Carlo errors of 250 raters
  const auto [low, high] = range_of(row, &Operating::ready, 4);
  CHECK(low == Approx(0.84).margin(0.08));
  CHECK(high == Approx(0.95).margin(0.05));
}

TEST_CASE("a row is the same for one thread and for three", "[property]") {
  const std::vector<NamedScenario> one{{"cases .85", {.case_sd = 0.85}}};
  for (const NamedPlan& plan : {standard_plans().back(), sequential_plans().back()}) {
    INFO(plan.name);
    const auto alone = operating_row(plan, one, 40, 7, 1).value();
    const auto shared = operating_row(plan, one, 40, 7, 3).value();
    for (std::size_t share = 0; share < operating_shares.size(); ++share) {
      CHECK(alone.by_scenario[0][share].ready == shared.by_scenario[0][share].ready);
      CHECK(alone.by_scenario[0][share].mean_cases == shared.by_scenario[0][share].mean_cases);
    }
  }
}

TEST_CASE("a scenario that cannot have one of the shares is named", "[edge]") {
  const std::vector<NamedScenario> impossible{{"nearly all able", {.able_share = 0.9}}};
  const auto row = operating_row(standard_plans().front(), impossible, 5, 1);
  REQUIRE_FALSE(row);
  CHECK(row.error().code == Errc::undefined);
  CHECK(row.error().message.find("nearly all able") != std::string::npos);
}

}  // namespace evenhand::competency
