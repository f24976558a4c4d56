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
const Options marginal_common{.model = Model::common_thresholds, .estimator = Estimator::marginal};

std::vector<Score> drawn(std::size_t cases, std::size_t raters, std::size_t items, std::uint64_t seed = 1) {
  base::Random random(seed, 3);
  return test::scores_from(test::truth_of({cases, raters, items, 3, 1.0, 0.5}, random), random);
}

severity::Severity fit_of(std::size_t cases, std::size_t raters, std::size_t items,
                          const std::vector<Score>& scores, const Options& options,
                          std::optional<std::size_t> key = std::nullopt) {
  return severity::severity(test::ratings_from(cases, raters, items, 4, scores, key), options);
}

}  // namespace

TEST_CASE("without a score nothing is estimated, and it says so", "[edge]") {
  for (const auto& options : {joint_partial, joint_common, marginal_partial, marginal_common}) {
    const auto fit = fit_of(2, 2, 1, {}, options);
    CHECK(fit.convergence.outcome == Outcome::nothing_to_fit);
    CHECK_FALSE(fit.raters[0].severity.estimate);
    CHECK(fit.raters[0].severity.estimate.why() == "no score");
    CHECK_FALSE(fit.cases[1].location.estimate);
  }
}

TEST_CASE("a single rater has no severity, but items and cases have locations", "[edge]") {
  const auto scores = drawn(12, 1, 4);
  for (const auto& options : {joint_partial, joint_common, marginal_partial, marginal_common}) {
    const auto fit = fit_of(12, 1, 4, scores, options);
    REQUIRE(fit.convergence.outcome == Outcome::converged);
    CHECK(fit.raters[0].severity.estimate.why() == "the only rater of the group: nobody to compare with");
    CHECK(fit.raters[0].fit.infit);
    CHECK(fit.items[0].location.se);
  }
}

TEST_CASE("a single case still orders the raters", "[edge]") {
  const auto scores = drawn(1, 4, 8);
  for (const auto& options : {joint_partial, joint_common, marginal_common}) {
    const auto fit = fit_of(1, 4, 8, scores, options);
    REQUIRE(fit.convergence.outcome == Outcome::converged);
    CHECK_FALSE(fit.cases[0].location.estimate);
    CHECK(fit.raters[0].severity.se);
  }
}

TEST_CASE("scores all at one level leave nothing to fit", "[edge]") {
  std::vector<Score> scores = drawn(4, 3, 2);
  for (Score& s : scores) s.level = 3;
  for (const auto& options : {joint_partial, joint_common, marginal_partial, marginal_common}) {
    const auto fit = fit_of(4, 3, 2, scores, options);
    CHECK(fit.convergence.outcome == Outcome::nothing_to_fit);
    CHECK(fit.items[0].extreme == Extreme::highest);
    CHECK_FALSE(fit.items[0].location.estimate);
    CHECK(fit.raters[0].severity.estimate.why() == "no score on a case and item whose scores vary");
  }
}

TEST_CASE("a rater at one end is left out, named, and given an adjusted severity", "[edge]") {
  for (const auto& options : {joint_partial, joint_common, marginal_partial, marginal_common}) {
    auto scores = drawn(10, 4, 3);
    const auto without = fit_of(10, 4, 3, scores, options);
    for (std::uint32_t c = 0; c < 10; ++c)
      for (std::uint32_t i = 0; i < 3; ++i) scores.push_back({c, 4, i, 3}), scores.push_back({c, 5, i, 0});
    const auto fit = fit_of(10, 6, 3, scores, options, 0);
    CHECK(fit.raters[4].extreme == Extreme::highest);
    CHECK(fit.raters[5].extreme == Extreme::lowest);
    CHECK_FALSE(fit.raters[4].fit.infit);
    // The others are as if these two had not been there.
    CHECK(*fit.raters[2].severity.estimate - *fit.raters[1].severity.estimate ==
          Approx(*without.raters[2].severity.estimate - *without.raters[1].severity.estimate));
    double mildest = 9.0, hardest = -9.0;
    for (std::size_t r = 0; r < 4; ++r) {
      mildest = std::min(mildest, *fit.raters[r].severity.estimate);
      hardest = std::max(hardest, *fit.raters[r].severity.estimate);
    }
    CHECK(*fit.raters[4].severity.estimate < mildest - 1.0);
    CHECK(*fit.raters[5].severity.estimate > hardest + 1.0);
    CHECK(*fit.raters[4].severity.se > *fit.raters[1].severity.se);
    CHECK(*fit.raters[4].points.estimate > 0.0);
    CHECK(*fit.raters[5].points_against_key.estimate < 0.0);
  }
}

TEST_CASE("a case at one end is left out of joint estimates and stays in marginal ones", "[edge]") {
  auto scores = drawn(10, 4, 3);
  for (Score& s : scores)
    if (s.case_ == 0) s.level = 3;
  const auto joint = fit_of(10, 4, 3, scores, joint_partial);
  CHECK(joint.cases[0].extreme == Extreme::highest);
  CHECK(joint.used == joint.scores - 12);
  const auto marginal = fit_of(10, 4, 3, scores, marginal_partial);
  CHECK(marginal.cases[0].extreme == Extreme::no);
  CHECK(marginal.used == marginal.scores);
  for (std::size_t c = 1; c < 10; ++c) {
    CHECK(*joint.cases[0].location.estimate > *joint.cases[c].location.estimate);
    CHECK(*marginal.cases[0].location.estimate > *marginal.cases[c].location.estimate);
  }
}

TEST_CASE("an item at one level has no threshold under partial credit", "[edge]") {
  auto scores = drawn(10, 4, 3);
  const auto without = [&] {
    auto others = scores;
    std::erase_if(others, [](const Score& s) { return s.item == 1; });
    return fit_of(10, 4, 3, others, joint_partial);
  }();
  for (const std::uint32_t level : {0U, 2U, 3U}) {
    for (Score& s : scores)
      if (s.item == 1) s.level = level;
    const auto fit = fit_of(10, 4, 3, scores, joint_partial);
    CHECK(fit.items[1].extreme == (level == 0   ? Extreme::lowest
                                   : level == 3 ? Extreme::highest
                                                : Extreme::one_level));
    CHECK_FALSE(fit.items[1].location.estimate);
    CHECK(*fit.raters[2].severity.estimate == Approx(*without.raters[2].severity.estimate));
  }
  // Common thresholds give an item at an end an adjusted location.
  for (Score& s : scores)
    if (s.item == 1) s.level = 3;
  const auto fit = fit_of(10, 4, 3, scores, joint_common);
  CHECK(fit.items[1].extreme == Extreme::highest);
  CHECK(*fit.items[1].location.estimate < *fit.items[0].location.estimate);
}

TEST_CASE("a level in the middle that nobody gives is merged with the one below", "[edge]") {
  auto scores = drawn(14, 5, 2);
  for (Score& s : scores)
    if (s.level == 1) s.level = 0;
  for (const auto& options : {joint_partial, marginal_partial, joint_common, marginal_common}) {
    const auto fit = fit_of(14, 5, 2, scores, options);
    const auto& thresholds =
        options.model == Model::partial_credit ? fit.items[0].thresholds : fit.thresholds;
    REQUIRE(thresholds.size() == 2);
    CHECK(thresholds[0].from == 0);
    CHECK(thresholds[0].level == 2);
    CHECK(thresholds[1].from == 2);
    CHECK(thresholds[1].level == 3);
    CHECK(fit.items[0].unused_levels == std::vector<std::size_t>{1});
    // The same estimates as when the levels had been numbered without it...
    auto renumbered = scores;
    for (Score& s : renumbered)
      if (s.level > 0) --s.level;
    const auto other = fit_of(14, 5, 2, renumbered, options);
    CHECK(*fit.raters[0].severity.estimate == Approx(*other.raters[0].severity.estimate));
    // ...but points still count the step from 0 to 2 as two.
    CHECK(std::abs(*fit.raters[0].points.estimate) > std::abs(*other.raters[0].points.estimate));
  }
}

TEST_CASE("raters who share no case fall into groups, each with its own zero", "[edge]") {
  // Raters 0, 1 with cases 0..9; raters 2, 3, 4 with cases 10..19; the same items.
  auto scores = drawn(20, 5, 3);
  std::erase_if(scores, [](const Score& s) { return (s.case_ < 10) != (s.rater < 2); });
  for (const auto& options : {joint_partial, joint_common, marginal_partial, marginal_common}) {
    const auto fit = fit_of(20, 5, 3, scores, options, 0);
    REQUIRE(fit.convergence.outcome == Outcome::converged);
    CHECK_FALSE(fit.linkage.linked);
    REQUIRE(fit.linkage.groups.size() == 2);
    CHECK(fit.linkage.groups[0].raters == std::vector<std::size_t>{0, 1});
    CHECK(fit.linkage.groups[1].raters == std::vector<std::size_t>{2, 3, 4});
    CHECK(fit.linkage.groups[1].cases.front() >= 10);
    CHECK(fit.linkage.statement ==
          "The raters fall into 2 groups that nothing they share connects; severities compare within a group "
          "only: (1) "
          "rater 0, rater 1; (2) rater 2, rater 3, rater 4.");
    double sum = 0.0;
    for (std::size_t r = 2; r < 5; ++r) sum += *fit.raters[r].severity.estimate;
    CHECK(sum == Approx(0.0).margin(1e-9));
    CHECK(fit.raters[1].against_key.se);
    CHECK_FALSE(fit.raters[3].against_key.estimate);
    CHECK(fit.group_shift.raters == 1);
    if (options.model == Model::partial_credit) CHECK_FALSE(fit.items[0].location.estimate);
  }
}

TEST_CASE("one shared case links two groups", "[edge]") {
  auto scores = drawn(20, 5, 3);
  std::erase_if(scores, [](const Score& s) { return s.case_ != 9 && (s.case_ < 10) != (s.rater < 2); });
  const auto fit = fit_of(20, 5, 3, scores, joint_partial);
  CHECK(fit.linkage.linked);
  CHECK(fit.linkage.groups.size() == 1);
}

TEST_CASE("raters who each score an item of their own are not linked through the cases", "[edge]") {
  auto scores = drawn(15, 2, 2);
  std::erase_if(scores, [](const Score& s) { return s.rater != s.item; });
  for (const auto& options : {joint_partial, joint_common, marginal_partial, marginal_common}) {
    const auto fit = fit_of(15, 2, 2, scores, options);
    CHECK(fit.linkage.groups.size() == 2);
    CHECK_FALSE(fit.raters[0].severity.estimate);
  }
}

TEST_CASE("scores that never overlap have no finite estimate, and it says so", "[edge]") {
  // Two levels; rater 1 gives 1 wherever rater 0 gives 0 or 1, and 0 only where both do: case by case
  // nobody contradicts that rater 0 is infinitely more severe.
  std::vector<Score> scores;
  for (std::uint32_t c = 0; c < 6; ++c) {
    scores.push_back({c, 0, 0, c < 2 ? 1U : 0U});
    scores.push_back({c, 1, 0, c < 4 ? 1U : 0U});
  }
  const auto fit = fit_of(6, 2, 1, scores, joint_partial);
  // Cases at an end go first; what is left is extreme.
  CHECK(fit.convergence.outcome != Outcome::converged);
  CHECK_FALSE(fit.raters[0].severity.estimate);
  CHECK_FALSE(fit.raters[0].severity.estimate.why().empty());
}

TEST_CASE("cases that do not differ have no spread", "[edge]") {
  // Every case gets the same three scores, in turn from another rater.
  std::vector<Score> scores;
  for (std::uint32_t c = 0; c < 12; ++c)
    for (std::uint32_t r = 0; r < 4; ++r) scores.push_back({c, r, 0, (r + c) % 4});
  const auto fit = fit_of(12, 4, 1, scores, marginal_partial);
  REQUIRE(fit.convergence.outcome == Outcome::converged);
  CHECK(*fit.case_sd.estimate == 0.0);
  CHECK(fit.cases[0].location.estimate.why() == "the scores show no spread between cases");
  for (const auto& rater : fit.raters) CHECK(*rater.severity.estimate == Approx(0.0).margin(1e-9));
}

TEST_CASE("far-off levels do not overflow", "[edge]") {
  // 60 levels, and raters who differ by all of them.
  base::Random random(4, 4);
  std::vector<Score> scores;
  for (std::uint32_t c = 0; c < 30; ++c)
    for (std::uint32_t r = 0; r < 3; ++r)
      scores.push_back({c, r, 0, static_cast<std::uint32_t>(c + random.index(25) + (r == 2 ? 5 : 0))});
  for (const auto& options : {joint_partial, marginal_partial}) {
    const auto fit = severity::severity(test::ratings_from(30, 3, 1, 60, scores), options);
    CHECK(fit.convergence.outcome == Outcome::converged);
    CHECK(*fit.raters[2].severity.estimate < *fit.raters[0].severity.estimate);
  }
}

TEST_CASE("a score that names nothing is refused by its number", "[edge]") {
  severity::Contents contents{{"a"}, {"x"}, {""}, {0, 1}, {{0, 0, 0, 1}, {0, 0, 0, 2}}, {}};
  const auto ratings = severity::Ratings::from(contents);
  REQUIRE_FALSE(ratings);
  CHECK(ratings.error().message == "score 2 names level 2, but there are 2 (counted from 0)");
  contents.scores.pop_back();
  contents.level_points = {0, 0};
  CHECK(severity::Ratings::from(contents).error().message ==
        "level 1 is worth 0 points and level 0 before it 0: levels ascend");
  contents.level_points = {0, 1};
  contents.key = 1;
  CHECK_FALSE(severity::Ratings::from(contents));
}

TEST_CASE("mean squares are told in words by their limits", "[edge]") {
  CHECK(severity::regularity(1.51) == severity::Regularity::less_than_expected);
  CHECK(severity::regularity(0.49) == severity::Regularity::more_than_expected);
  CHECK(severity::regularity(1.0) == severity::Regularity::as_expected);
  CHECK_FALSE(severity::regularity(agreement::Value(agreement::Reason{"no score"})));
}
