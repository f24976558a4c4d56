#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

#include "planning/formulas.hpp"
#include "planning/kappa_model.hpp"
#include "planning/scale.hpp"

using namespace evenhand;
using namespace evenhand::planning;

TEST_CASE("a rater's chances add up to one and give the kappa asked for", "[property]") {
  for (const double kappa : {.3, .6, .75, .9})
    for (const std::size_t levels : {2U, 3U, 5U, 9U}) {
      // Errors by one level alone cannot make a kappa as low as .3 on many levels.
      const auto model = kappa_model({.key_shares = levels_with_ceiling(levels, .5).shares,
                                      .kappa = kappa,
                                      .one_off = kappa < .7 ? .2 : .9});
      REQUIRE(model);
      for (std::size_t level = 0; level < levels; ++level) {
        CHECK(std::accumulate(model->chances[level].begin(), model->chances[level].end(), 0.0) ==
              Approx(1.0));
        CHECK(model->chances[level][level] == Approx(model->exact));
      }
      CHECK(model->kappa == Approx(kappa));
      const auto achieved = kappa_achieved(*model, 400, {}, {.replicates = 400, .threads = 2});
      CHECK(achieved.mean_estimate == Approx(kappa).margin(.01));
    }
}

TEST_CASE("kappa of a rater known by hand: 80 % exact on two equal levels is .6", "[reference]") {
  const auto model = kappa_model({.key_shares = {.5, .5}, .exact = .8});
  REQUIRE(model);
  CHECK(model->kappa == Approx(.6));  // (po - pe) / (1 - pe) = (.8 - .5) / .5, Cohen 1960
}

TEST_CASE("the simulated width of kappa is the large-sample one where that is known", "[reference]") {
  // Two levels, both margins one half: n var(kappa) = 1 - kappa^2 (Fleiss, Cohen & Everitt 1969).
  const auto model = kappa_model({.key_shares = {.5, .5}, .kappa = .6});
  REQUIRE(model);
  const auto achieved = kappa_achieved(*model, 400, {}, {.replicates = 1000, .threads = 2});
  const double expected = 2.0 * 1.959963984540054 * std::sqrt(*kappa_unit_variance(.6, .5, .5) / 400.0);
  CHECK(achieved.mean_width == Approx(expected).epsilon(.01));
  CHECK(achieved.coverage == Approx(.95).margin(.03));
}

TEST_CASE("sets without one disagreement count as without an interval, not as perfectly known", "[edge]") {
  const auto model = kappa_model({.key_shares = equal_levels(5).shares, .exact = .98});
  REQUIRE(model);
  const auto achieved = kappa_achieved(*model, 10, {}, {.replicates = 2000, .threads = 2});
  // .98^10 = .817 of the sets; each tells nothing and counts as 1 wide.
  CHECK(achieved.without_interval == Approx(.817).margin(.04));
  CHECK(achieved.mean_width > achieved.without_interval);
  CHECK(achieved.meeting < .2);
}

TEST_CASE("a kappa that no rater of this kind has is refused", "[edge]") {
  CHECK_FALSE(kappa_model({.key_shares = {.5, .5}, .kappa = 1.0}));
  CHECK_FALSE(kappa_model({.key_shares = {.5, .5}, .kappa = -1.0}));
  CHECK_FALSE(kappa_model({.key_shares = {1.0}}));
  CHECK_FALSE(kappa_model({.key_shares = {.5, .5}, .exact = 1.2}));
  CHECK_FALSE(kappa_model({.key_shares = {.5, .5}, .one_off = -0.1}));
}
