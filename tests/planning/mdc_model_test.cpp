#include "planning/mdc_model.hpp"

#include <cmath>

#include <catch2/catch.hpp>

#include "agreement/sem.hpp"
#include "base/random.hpp"
#include "planning/plan.hpp"
#include "stats/mean_squares.hpp"

using namespace evenhand;
using namespace evenhand::planning;

namespace {

constexpr Simulation quick{.replicates = 1500, .threads = 2};

/// The same studies the slow way: every score drawn, the mean squares computed from the table.
double mean_width_of_tables(const MdcExpected& expected, std::size_t cases, std::size_t raters,
                            std::size_t studies) {
  const double rater_sd = expected.sem * std::sqrt(expected.rater_share);
  const double rest_sd = expected.sem * std::sqrt(1.0 - expected.rater_share);
  double sum = 0.0;
  for (std::size_t s = 0; s < studies; ++s) {
    base::Random random(99, s);
    std::vector<double> of_rater, scores;
    for (std::size_t r = 0; r < raters; ++r) of_rater.push_back(random.normal(0.0, rater_sd));
    for (std::size_t c = 0; c < cases; ++c) {
      const double of_case = random.normal(0.0, 9.0);
      for (std::size_t r = 0; r < raters; ++r)
        scores.push_back(of_case + of_rater[r] + random.normal(0.0, rest_sd));
    }
    const auto sem = agreement::sem(*stats::two_way_mean_squares(scores, cases, raters)).agreement;
    sum += (*sem.upper - *sem.lower) * 1.959963984540054 * std::sqrt(2.0);
  }
  return sum / static_cast<double>(studies);
}

}  // namespace

TEST_CASE("drawn mean squares give the widths that whole tables of scores give") {
  for (const auto& [share, cases, raters] :
       {std::tuple{.25, 20UL, 6UL}, {0.0, 12UL, 4UL}, {.5, 30UL, 10UL}}) {
    const MdcExpected expected{.sem = 1.4, .rater_share = share};
    const auto achieved = mdc_achieved(expected, cases, raters, {}, quick);
    const double tables = mean_width_of_tables(expected, cases, raters, 1500);
    INFO(share << ' ' << cases << ' ' << raters);
    // Both have an error of about the same size.
    CHECK(achieved.mean_width == Approx(tables).margin(6.0 * achieved.width_error));
    CHECK(achieved.coverage == Approx(.95).margin(.03));
    CHECK(achieved.mean_estimate == Approx(1.4 * 2.7718).epsilon(.08));
  }
}

TEST_CASE("with a lasting difference between raters more raters help, and more cases hardly", "[property]") {
  const MdcExpected expected{.sem = 1.4, .rater_share = .5};
  const auto few = mdc_achieved(expected, 40, 4, {}, quick),
             more_cases = mdc_achieved(expected, 160, 4, {}, quick),
             more_raters = mdc_achieved(expected, 40, 16, {}, quick);
  CHECK(more_cases.mean_width > .85 * few.mean_width);
  CHECK(more_raters.mean_width < .5 * few.mean_width);
}

TEST_CASE("an MDC is planned in points, and a plan that cannot be says why") {
  const auto plan = plan_mdc({.expected = {.sem = 1.4, .rater_share = .1},
                              .goal = {.kind = GoalKind::mean_width, .bound = 1.5},
                              .cases = {},
                              .raters = 12},
                             quick)
                        .value();
  REQUIRE(plan.needed);
  REQUIRE(plan.needed->number);
  CHECK(plan.answer.mean_width <= 1.5);
  CHECK(plan.answer.raters == 12);
  const auto one_less =
      mdc_achieved({.sem = 1.4, .rater_share = .1}, *plan.needed->number - 1, 12, {}, quick);
  CHECK(one_less.mean_width > 1.5);
  CHECK(plan_mdc({.expected = {.sem = 0.0}}, quick).error().code == Errc::invalid);
  CHECK(plan_mdc({.expected = {.sem = 1.0, .rater_share = 1.0}}, quick).error().code == Errc::invalid);
  CHECK(plan_mdc({.expected = {}, .goal = {.kind = GoalKind::assured_lower, .bound = .5}}, quick)
            .error()
            .code == Errc::invalid);
  CHECK(plan_mdc({.expected = {}, .goal = {.bound = -1.0}}, quick).error().code == Errc::invalid);
}
