#include <catch2/catch.hpp>

#include "planning/plan.hpp"

using namespace evenhand::planning;

namespace {

constexpr Simulation quick{.replicates = 500, .threads = 2};

std::size_t or_limit(const Needed& needed) { return needed.number.value_or(needed.limit + 1); }

bool same(const Achieved& a, const Achieved& b) {
  return a.cases == b.cases && a.raters == b.raters && a.mean_width == b.mean_width &&
         a.width_error == b.width_error && a.meeting == b.meeting && a.mean_estimate == b.mean_estimate &&
         a.spread == b.spread && a.coverage == b.coverage && a.without_interval == b.without_interval;
}

}  // namespace

TEST_CASE("a search finds the smallest number that is enough, and the limit when none is") {
  const Goal goal{.bound = 0.5};
  std::size_t asked = 0;
  const auto at = [&](std::size_t n) {
    ++asked;
    return Achieved{.cases = n, .mean_width = 10.0 / static_cast<double>(n), .width_error = .01};
  };
  const auto needed = fewest(3, 500, goal, at);
  CHECK(needed.number == 20U);
  CHECK(needed.at_least == 20U);  // 10/19 - .02 = .506
  CHECK(needed.at_most == 21U);   // 10/20 + .02 = .52, 10/21 + .02 = .496
  CHECK(needed.achieved.cases == 20);
  CHECK(asked < 16);

  const auto beyond = fewest(3, 19, goal, at);
  CHECK_FALSE(beyond.number);
  CHECK(beyond.achieved.cases == 19);
  CHECK(fewest(3, 500, {.bound = 9.0}, at).number == 3U);
}

TEST_CASE("any number of threads gives the same digits") {
  const IccQuestion icc{.expected = {.rater_share = .2, .scale = levels_with_ceiling(5, .4)},
                        .raters = 4,
                        .reach = {.cases = 60}};
  const KappaQuestion kappa{.expected = {.key_shares = {.2, .3, .5}}, .reach = {.cases = 100}};
  const Simulation one{.replicates = 200, .seed = 7, .threads = 1};
  const auto first = plan_icc(icc, one);
  const auto first_kappa = plan_kappa(kappa, one);
  REQUIRE(first);
  REQUIRE(first_kappa);
  for (const std::size_t threads : {2U, 5U}) {
    Simulation many = one;
    many.threads = threads;
    const auto again = plan_icc(icc, many);
    CHECK(again->needed->number == first->needed->number);
    CHECK(same(again->answer, first->answer));
    for (std::size_t r = 0; r < first->rows.size(); ++r)
      for (std::size_t c = 0; c < first->grid_cases.size(); ++c)
        CHECK(same(again->rows[r].at[c], first->rows[r].at[c]));
    CHECK(same(plan_kappa(kappa, many)->answer, first_kappa->answer));
  }
  Simulation other = one;
  other.seed = 8;
  CHECK_FALSE(same(plan_kappa(kappa, other)->answer, first_kappa->answer));
}

TEST_CASE("more raters never need more cases", "[property]") {
  for (const double share : {0.0, .3}) {
    const auto plan = plan_icc({.expected = {.rater_share = share}, .goal = {.bound = .25}}, quick);
    REQUIRE(plan);
    for (std::size_t i = 1; i < plan->rows.size(); ++i) {
      INFO(plan->rows[i - 1].raters << " and " << plan->rows[i].raters << " raters, share " << share);
      CHECK(or_limit(plan->rows[i].cases) <= or_limit(plan->rows[i - 1].cases));
    }
  }
}

TEST_CASE("a narrower interval, more confidence and more assurance each take more cases", "[property]") {
  const auto needed = [](const Goal& goal, double confidence) {
    Simulation simulation = quick;
    simulation.confidence = confidence;
    const auto model = icc_model({});
    return *fewest(3, 2000, goal, [&](std::size_t n) {
              return icc_achieved(*model, n, 6, goal, simulation);
            }).number;
  };
  CHECK(needed({.bound = .3}, .95) < needed({.bound = .25}, .95));
  CHECK(needed({.bound = .25}, .95) < needed({.bound = .2}, .95));
  CHECK(needed({.bound = .25}, .8) < needed({.bound = .25}, .95));
  const auto width = [&](double assurance) {
    return needed({.kind = GoalKind::assured_width, .bound = .3, .assurance = assurance}, .95);
  };
  CHECK(width(.5) < width(.9));
  const auto lower = [&](double bound) {
    return needed({.kind = GoalKind::assured_lower, .bound = bound, .assurance = .5}, .95);
  };
  CHECK(lower(.5) < lower(.65));
}

TEST_CASE("the assured lower limit is what Zou's reading of Walter promises without a rater effect",
          "[reference]") {
  // Zou 2012, Statistics in Medicine 31:3972-3981: the one-sided lower limit exceeds .6 in 80 % of studies
  // with the cases of Walter, Eliasziw & Donner 1998, here 20 for five raters and an ICC of .8. The formula
  // is a normal approximation; .04 is granted beside the Monte Carlo error.
  const auto plan = plan_by_formula({.formula = Formula::walter, .null = .6, .rater_share = 0.0},
                                    {.replicates = 2000, .threads = 2});
  REQUIRE(plan);
  CHECK(plan->cases == 20);
  REQUIRE(plan->check);
  CHECK(plan->check->confidence == Approx(.9));
  CHECK(plan->check->achieved.meeting == Approx(.8).margin(.04 + 4 * plan->check->achieved.meeting_error));
}

TEST_CASE("with raters of different severity no number of cases is enough for two of them") {
  const auto plan = plan_icc({.expected = {.rater_share = .5}, .raters = 2, .reach = {.cases = 300}}, quick);
  REQUIRE(plan);
  REQUIRE(plan->needed);
  CHECK_FALSE(plan->needed->number);
  CHECK(plan->answer.cases == 300);
  CHECK(plan->answer.mean_width > .2);
  CHECK(plan->rows.back().cases.number);  // twenty raters can
}

TEST_CASE("raters are sought for given cases, and both given are only described") {
  const auto raters = plan_icc({.goal = {.bound = .3}, .cases = 20}, quick);
  REQUIRE(raters);
  CHECK(raters->sought == Sought::raters);
  REQUIRE(raters->needed->number);
  const auto few =
      plan_icc({.goal = {.bound = .3}, .cases = 20, .raters = *raters->needed->number - 1}, quick);
  REQUIRE(few);
  CHECK_FALSE(few->needed);
  CHECK(few->answer.mean_width > .3);
  CHECK(raters->answer.mean_width <= .3);
}

TEST_CASE("questions that cannot be are refused", "[edge]") {
  CHECK_FALSE(plan_icc({.goal = {.bound = 0.0}}, quick));
  CHECK_FALSE(plan_icc({.goal = {.kind = GoalKind::assured_lower, .bound = .8}}, quick));
  CHECK_FALSE(plan_icc({.goal = {.kind = GoalKind::assured_width, .assurance = 1.0}}, quick));
  CHECK_FALSE(plan_icc({.cases = 2}, quick));
  CHECK_FALSE(plan_icc({.raters = 1}, quick));
  CHECK_FALSE(plan_icc({.reach = {.cases = 2}}, quick));
  CHECK_FALSE(plan_icc({}, {.replicates = 1}));
  CHECK_FALSE(plan_kappa({.expected = {.key_shares = {.5, .5}}, .goal = {.bound = 3.0}}, quick));
}
