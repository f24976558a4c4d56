#include "competency/operating.hpp"

#include <cmath>

#include <fmt/core.h>
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

namespace {

struct Named {
  const char* name;
  Scenario scenario;
};

// Nine scenarios in the range of standard.md's table: correlation 0 to about .2, without and with able
// children, without and with items of unequal difficulty.
constexpr Named scenarios[] = {
    {"independent", {}},
    {"items differ", {.item_sd = 0.8}},
    {"cases .85", {.case_sd = 0.85}},
    {"cases 1.1", {.case_sd = 1.1}},
    {"cases 1.3", {.case_sd = 1.3}},
    {"cases .85, items", {.case_sd = 0.85, .item_sd = 0.8}},
    {"15 % able", {.case_sd = 0.6, .able_share = 0.15}},
    {"30 % able", {.case_sd = 0.6, .able_share = 0.30}},
    {"30 % able, items", {.case_sd = 0.85, .item_sd = 0.8, .able_share = 0.30}},
};

void print_table(const char* plan, const Standard& standard, std::size_t raters, std::size_t attempts) {
  fmt::print("{}\n{:18} {:>5} |", plan, "scenario", "rho");
  for (const double p : {0.75, 0.80, 0.85, 0.90, 0.925, 0.95}) fmt::print(" {:>6}", p);
  fmt::print(" | not yet .70   .75 | cases at .90\n");
  for (const auto& [name, scenario] : scenarios) {
    const auto run = [&](double p) {
      return operating_characteristics(standard, scenario, p, raters, 20261125, attempts).value();
    };
    fmt::print("{:18} {:5.2f} |", name, run(0.80).correlation);
    for (const double p : {0.75, 0.80, 0.85, 0.90, 0.925, 0.95}) fmt::print(" {:6.1f}", 100 * run(p).ready);
    fmt::print(" | {:11.1f} {:5.1f} | {:6.1f}\n", 100 * run(0.70).not_yet, 100 * run(0.75).not_yet,
               run(0.90).mean_cases);
  }
}

}  // namespace

TEST_CASE("operating characteristics of the plans", "[.long]") {
  const std::size_t raters = 4000;
  print_table("half 16/24/32, 97 %", Standard{}, raters, 1);
  print_table("half 16/24/32, 98.5 %", Standard{}, raters, 2);
  Standard one_look;
  one_look.looks = {24};
  one_look.levels = {0.95};
  print_table("half 24, one look, 95 %", one_look, raters, 1);
  for (const auto& [name, scenario] : scenarios) {
    INFO(name);
    const auto at_edge = operating_characteristics(Standard{}, scenario, 0.80, raters, 20261125).value();
    if (at_edge.correlation <= 0.21) CHECK(at_edge.ready <= 0.05 + 3 * at_edge.error_of(0.05));
  }
}

}  // namespace evenhand::competency
