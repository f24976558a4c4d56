#include "severity/patterns.hpp"

#include <catch2/catch.hpp>

#include <cmath>

#include "data.hpp"
#include "severity/severity.hpp"

using namespace evenhand;
using severity::Estimator;

TEST_CASE("cases are one pattern when the same raters gave the same items the same levels") {
  // Case, rater, item, level.
  const std::vector<severity::Score> scores{
      {0, 0, 0, 1}, {0, 1, 0, 2},  // the first
      {1, 0, 0, 1}, {1, 1, 0, 2},  // the same
      {2, 0, 0, 2}, {2, 1, 0, 1},  // another level each
      {3, 0, 0, 1},                // fewer scores
      {4, 0, 0, 1}, {4, 1, 1, 2},  // another item
      {5, 1, 0, 1}, {5, 1, 0, 2},  // another rater, who scored twice
      {6, 0, 0, 1}, {6, 1, 0, 2},  // the same again
      {7, 0, 1, 0}, {7, 1, 1, 0}, {7, 0, 0, 0}, {7, 1, 0, 0},
  };
  const auto ratings = test::ratings_from(8, 2, 2, 3, scores);
  const auto design =
      severity::design_of(ratings, severity::Model::partial_credit, severity::Estimator::marginal);
  const auto patterns = severity::patterns_of(design);
  CHECK(patterns.of_case == std::vector<std::size_t>{0, 0, 1, 2, 3, 4, 0, 5});
  REQUIRE(patterns.list.size() == 6);
  CHECK(patterns.list[0].cases == 3);
  CHECK(patterns.list[0].scores.size() == 2);
  for (std::size_t i = 1; i < 6; ++i) CHECK(patterns.list[i].cases == 1);
}

TEST_CASE("every case three times: the same estimates, errors smaller by the root of three", "[property]") {
  int compared = 0;
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    base::Random random(seed, 2);
    const std::size_t cases = 15, raters = 3, items = 2, levels = 3;
    const auto truth = test::truth_of({cases, raters, items, levels - 1, 0.8, 0.5}, random);
    const auto once = test::scores_from(truth, random, 0.1);
    auto thrice = once;
    for (const std::uint32_t copy : {1U, 2U})
      for (auto score : once) {
        score.case_ += copy * static_cast<std::uint32_t>(cases);
        thrice.push_back(score);
      }
    const auto one = severity::severity(test::ratings_from(cases, raters, items, levels, once));
    const auto three = severity::severity(test::ratings_from(3 * cases, raters, items, levels, thrice));
    if (one.convergence.outcome != severity::Outcome::converged || !(*one.case_sd.estimate > 0.1)) continue;
    ++compared;
    INFO("seed " << seed);
    CHECK(three.convergence.outcome == severity::Outcome::converged);
    CHECK(three.convergence.log_likelihood == Approx(3.0 * one.convergence.log_likelihood).epsilon(1e-12));
    CHECK(*three.case_sd.estimate == Approx(*one.case_sd.estimate).epsilon(1e-6));
    CHECK(*three.case_sd.se == Approx(*one.case_sd.se / std::sqrt(3.0)).epsilon(1e-6));
    for (std::size_t r = 0; r < raters; ++r) {
      CHECK(*three.raters[r].severity.estimate == Approx(*one.raters[r].severity.estimate).margin(1e-6));
      CHECK(*three.raters[r].severity.se ==
            Approx(*one.raters[r].severity.se / std::sqrt(3.0)).epsilon(1e-6));
    }
    for (std::size_t c = 0; c < 3 * cases; ++c)
      if (one.cases[c % cases].location.estimate)
        CHECK(*three.cases[c].location.estimate ==
              Approx(*one.cases[c % cases].location.estimate).margin(1e-6));
  }
  CHECK(compared >= 6);
}
