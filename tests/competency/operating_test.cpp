#include "competency/operating.hpp"

#include <catch2/catch.hpp>

namespace evenhand::competency {

// The promise of the standard: of raters who are exactly at .80, at most 5 in 100 are called ready, all looks
// together. 400 raters and 3 Monte Carlo errors: 5 % + 3 * 1.1 %.
TEST_CASE("the default standard seldom calls a rater at .80 ready", "[property]") {
  const Scenario scenario{.case_sd = 0.85};
  const auto at_edge = operating_characteristics(Standard{}, scenario, 0.80, 400, 1125).value();
  CHECK(at_edge.correlation == Approx(0.10).margin(0.02));
  CHECK(at_edge.ready <= 0.05 + 3 * at_edge.error_of(0.05));
  CHECK(at_edge.ready + at_edge.not_yet + at_edge.not_shown == Approx(1.0));
}

TEST_CASE("the default standard mostly calls a rater at .95 ready, and early", "[property]") {
  const auto able = operating_characteristics(Standard{}, {.case_sd = 0.85}, 0.95, 200, 1125).value();
  CHECK(able.ready > 0.97);
  CHECK(able.mean_cases < 20.0);
}

TEST_CASE("two attempts are each stricter than one", "[property]") {
  const Scenario scenario{.case_sd = 0.85};
  const auto once = operating_characteristics(Standard{}, scenario, 0.90, 300, 4).value();
  const auto twice = operating_characteristics(Standard{}, scenario, 0.90, 300, 4, 2).value();
  CHECK(twice.ready < once.ready);
  CHECK_FALSE(operating_characteristics(Standard{}, scenario, 0.90, 10, 4, 3));
}

TEST_CASE("the same seed gives the same answer, another one another", "[property]") {
  const Scenario scenario{.case_sd = 0.85, .item_sd = 0.5};
  const auto a = operating_characteristics(Standard{}, scenario, 0.87, 100, 4).value();
  const auto b = operating_characteristics(Standard{}, scenario, 0.87, 100, 4).value();
  const auto c = operating_characteristics(Standard{}, scenario, 0.87, 100, 5).value();
  CHECK(a.mean_cases == b.mean_cases);
  CHECK(a.mean_cases != c.mean_cases);
}

TEST_CASE("a share that able children alone exceed has no scenario", "[edge]") {
  CHECK_FALSE(operating_characteristics(Standard{}, {.able_share = 0.3}, 0.2, 10, 1));
}

TEST_CASE("whole cases show every item, and the items of a case must divide those of the instrument",
          "[edge]") {
  Standard whole;
  whole.items_per_case = 14;
  whole.looks = {12, 18, 24};
  CHECK(operating_characteristics(whole, {}, 0.95, 50, 4)->ready > 0.9);
  Standard odd;
  odd.items_per_case = 5;
  CHECK_FALSE(operating_characteristics(odd, {}, 0.95, 10, 4));
  odd.items_per_case = 0;
  CHECK_FALSE(operating_characteristics(odd, {}, 0.95, 10, 4));
}

// standard.md (simulated there): counted per case without a divisor, Wald's test errs 24 % at a nominal 5 %;
// with a divisor of 3, at least 6 and at most 30 cases, at most 4.8 %.
TEST_CASE("the sequential test errs seldom with its design effect, and often without", "[property]") {
  const Scenario scenario{.case_sd = 1.3};
  const auto shipped = operating_characteristics(SequentialPlan{}, 14, scenario, 0.80, 1000, 1125).value();
  CHECK(shipped.correlation == Approx(0.2).margin(0.02));
  CHECK(shipped.ready <= 0.048 + 3 * shipped.error_of(0.048));
  SequentialPlan plain;
  plain.design_effect = 1.0;
  plain.least_cases = 1;
  const auto undivided = operating_characteristics(plain, 14, scenario, 0.80, 1000, 1125).value();
  CHECK(undivided.ready > 0.15);
  plain.competent = plain.not_acceptable;
  CHECK_FALSE(operating_characteristics(plain, 14, scenario, 0.80, 10, 1125));
}

}  // namespace evenhand::competency
