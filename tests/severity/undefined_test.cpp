// The words of every reason that no other test reads: reports/methods/undefined.md says which test reads
// which.
#include <algorithm>
#include <vector>

#include <catch2/catch.hpp>

#include "data.hpp"
#include "severity/severity.hpp"

using namespace evenhand;
using severity::Estimator;
using severity::Extreme;
using severity::Model;
using severity::Options;
using severity::Outcome;
using severity::Score;

namespace {

const Options joint_partial{.model = Model::partial_credit, .estimator = Estimator::joint};
const Options joint_common{.model = Model::common_thresholds, .estimator = Estimator::joint};
const Options marginal_partial{.model = Model::partial_credit, .estimator = Estimator::marginal};

std::vector<Score> drawn(std::size_t cases, std::size_t raters, std::size_t items) {
  base::Random random(1, 3);
  return test::scores_from(test::truth_of({cases, raters, items, 3, 1.0, 0.5}, random), random);
}

severity::Severity fit_of(std::size_t cases, std::size_t raters, std::size_t items,
                          const std::vector<Score>& scores, const Options& options,
                          std::optional<std::size_t> key = std::nullopt) {
  return severity::severity(test::ratings_from(cases, raters, items, 4, scores, key), options);
}

}  // namespace

TEST_CASE("a severity without a key, of the key, and of raters beyond its reach say so", "[edge]") {
  auto scores = drawn(20, 5, 3);
  CHECK(fit_of(20, 5, 3, scores, joint_partial).raters[0].against_key.estimate.why() ==
        "there is no reference key among the raters");
  CHECK(fit_of(20, 5, 3, scores, joint_partial).group_shift.points.estimate.why() ==
        "there is no reference key among the raters");
  CHECK(fit_of(20, 5, 3, scores, joint_partial, 0).raters[0].against_key.estimate.why() ==
        "this is the reference key");
  std::erase_if(scores, [](const Score& s) { return (s.case_ < 10) != (s.rater < 2); });
  CHECK(fit_of(20, 5, 3, scores, joint_partial, 0).raters[3].points_against_key.estimate.why() ==
        "not linked with the key: no case that both scored, nor raters in between");
}

TEST_CASE("a key at one end has no severity to compare with, and a rater there no fit", "[edge]") {
  auto scores = drawn(10, 4, 3);
  for (Score& s : scores)
    if (s.rater == 0) s.level = 3;
  const auto fit = fit_of(10, 4, 3, scores, joint_partial, 0);
  REQUIRE(fit.raters[0].extreme == Extreme::highest);
  CHECK(fit.raters[1].against_key.estimate.why() ==
        "the key's scores are all at one end, so its severity has no finite estimate");
  CHECK(fit.group_shift.logits.estimate.why() ==
        "the key's scores are all at one end, so its severity has no finite estimate");
  CHECK(fit.raters[0].fit.infit.why() == "left out of the fit: every score is at one end");
}

TEST_CASE("one case, one item and an item of one level have nothing to be compared with", "[edge]") {
  CHECK(fit_of(1, 4, 8, drawn(1, 4, 8), joint_partial).cases[0].location.estimate.why() ==
        "the only case of the group: nothing to compare it with");
  CHECK(fit_of(12, 3, 1, drawn(12, 3, 1), joint_common).items[0].location.estimate.why() ==
        "the only item of the group: nothing to compare it with");
  auto scores = drawn(10, 4, 3);
  for (Score& s : scores)
    if (s.item == 1) s.level = 2;
  CHECK(fit_of(10, 4, 3, scores, joint_partial).items[1].location.estimate.why() ==
        "every score is at one level, so there is no threshold");
}

TEST_CASE("groups that nothing connects have no common zero", "[edge]") {
  auto scores = drawn(20, 5, 3);
  std::erase_if(scores, [](const Score& s) { return (s.case_ < 10) != (s.rater < 2); });
  CHECK(fit_of(20, 5, 3, scores, marginal_partial).items[0].location.estimate.why() ==
        "raters, cases or items fall into groups that nothing connects: no common zero");
}

TEST_CASE("who can be compared with whom is a sentence", "[edge]") {
  CHECK(fit_of(2, 2, 1, {}, joint_partial).linkage.statement ==
        "No score can be used, so nobody can be compared.");
  CHECK(fit_of(12, 3, 2, drawn(12, 3, 2), joint_partial).linkage.statement ==
        "Shared cases connect all raters, so every rater can be compared with every other.");
  auto scores = drawn(20, 3, 2);  // both raters and all; the first cases on one item, the others on another
  std::erase_if(scores, [](const Score& s) { return (s.case_ < 10) != (s.item == 0); });
  CHECK(fit_of(20, 3, 2, scores, joint_partial).linkage.statement ==
        "Every rater can be compared with every other, but not every case or item with every other: no rater "
        "scored both.");
}

TEST_CASE("a rater always one level above another has no finite estimate", "[edge]") {
  std::vector<Score> scores;
  for (std::uint32_t c = 0; c < 8; ++c)
    for (std::uint32_t r = 0; r < 2; ++r) scores.push_back({c, r, 0, c % 2 + r});
  const auto fit = fit_of(8, 2, 1, scores, joint_partial);
  CHECK(fit.convergence.outcome == Outcome::diverging);
  CHECK(fit.raters[0].severity.estimate.why() ==
        "no finite estimate: the scores fall apart into sets that never overlap, and the likelihood grows "
        "without end");
}

TEST_CASE("a rater at one end who scored only cases at that end cannot be placed", "[edge]") {
  auto scores = drawn(10, 4, 3);
  for (Score& s : scores)
    if (s.case_ == 0) s.level = 3;
  for (std::uint32_t i = 0; i < 3; ++i) scores.push_back({0, 4, i, 3});
  const auto fit = fit_of(10, 5, 3, scores, joint_partial);
  REQUIRE(fit.raters[4].extreme == Extreme::highest);
  CHECK(fit.raters[4].severity.estimate.why() ==
        "every score is at one end, of cases and items that are left out too");
}

TEST_CASE("the spread of cases says when it is no parameter, not reached, or 0", "[edge]") {
  const auto scores = drawn(12, 4, 2);
  CHECK(fit_of(12, 4, 2, scores, joint_partial).case_sd.estimate.why() ==
        "cases are parameters here, not a sample");
  Options one_step = marginal_partial;
  one_step.most_iterations = 1;
  const auto stopped = fit_of(12, 4, 2, scores, one_step);
  REQUIRE(stopped.convergence.outcome == Outcome::out_of_steps);
  CHECK(stopped.case_sd.estimate.why() == "the estimation did not reach a maximum");
  std::vector<Score> alike;
  for (std::uint32_t c = 0; c < 12; ++c)
    for (std::uint32_t r = 0; r < 4; ++r) alike.push_back({c, r, 0, (r + c) % 4});
  const auto flat = fit_of(12, 4, 1, alike, marginal_partial);
  CHECK(*flat.case_sd.estimate == 0.0);
  CHECK(flat.case_sd.se.why() == "the estimate is 0, at the edge of what is possible");
}
