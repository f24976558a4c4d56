#include "competency/learning_curve.hpp"

#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

namespace evenhand::competency {
namespace {

const LearningCurve biau{.competent = 0.90, .not_acceptable = 0.80, .limit = 1.25};

}  // namespace

// Biau & Porcher 2010, weights for p0 = .1 and delta = .1, computed by hand: +.1178 a success, -.6931 a
// failure.
TEST_CASE("one score a case gives the published weights, and the sum never falls below 0", "[reference]") {
  const std::vector<CaseCount> cases{{1, 1}, {1, 1}, {0, 1}, {1, 1}};
  const auto path = learning_curve(cases, biau).value();
  CHECK(path.sums[0] == Approx(0.1178).margin(5e-5));
  CHECK(path.sums[1] == Approx(0.2356).margin(5e-5));
  CHECK(path.sums[2] == 0.0);
  CHECK(path.sums[3] == Approx(0.1178).margin(5e-5));
  CHECK_FALSE(path.first_signal);
  // a failure from well above 0 costs log 2
  std::vector<CaseCount> later(10, {1, 1});
  later.push_back({0, 1});
  const auto fall = learning_curve(later, biau).value();
  CHECK(fall.sums[10] - fall.sums[9] == Approx(-0.6931).margin(5e-5));
}

TEST_CASE("a bad beginning is forgotten", "[property]") {
  std::vector<CaseCount> good(12, {7, 7}), late(20, {2, 7});
  const auto early = learning_curve(good, biau).value();
  late.insert(late.end(), good.begin(), good.end());
  const auto after = learning_curve(late, biau).value();
  REQUIRE(early.first_signal);
  CHECK(*after.first_signal == *early.first_signal + 20);
}

TEST_CASE("a case is one step: its scores may stand in any order, and one without a score stands still",
          "[property]") {
  const std::vector<CaseCount> cases{{6, 7}, {0, 0}, {7, 7}};
  const auto path = learning_curve(cases, biau).value();
  CHECK(path.sums[0] == Approx(6 * std::log(1.125) - std::log(2.0)));
  CHECK(path.sums[1] == path.sums[0]);
  CHECK(path.sums[2] == Approx(13 * std::log(1.125) - std::log(2.0)));
}

TEST_CASE("the limit found keeps false signals where they should be, and able raters get theirs",
          "[property]") {
  const LearningCurveDesign design{.raters = 1500, .seed = 3};
  const auto found = learning_curve_limit(0.90, 0.80, design).value();
  const double error = std::sqrt(0.05 * 0.95 / 1500.0);
  INFO("limit " << found.curve.limit << ": false " << found.false_signal << ", able " << found.signal
                << " after " << found.mean_cases);
  // the limit has its own Monte Carlo error, so twice the variance
  CHECK(std::abs(found.false_signal - 0.05) < 3 * std::sqrt(2.0) * error);
  CHECK(found.signal > 0.5);
  CHECK(found.mean_cases < 40.0);
  const auto again = learning_curve_limit(0.90, 0.80, design).value();
  CHECK(again.curve.limit == found.curve.limit);
  LearningCurveDesign independent = design;
  independent.scenario.case_sd = 0.0;
  CHECK(learning_curve_limit(0.90, 0.80, independent)->curve.limit < found.curve.limit);
}

TEST_CASE("a learning curve that is none is refused with the reason", "[edge]") {
  const std::vector<CaseCount> cases{{1, 1}}, impossible{{2, 1}};
  CHECK_FALSE(learning_curve(cases, {.competent = 0.8, .not_acceptable = 0.9}));
  CHECK_FALSE(learning_curve(cases, {.competent = 1.0}));
  CHECK_FALSE(learning_curve(cases, {.limit = 0.0}));
  CHECK(learning_curve(impossible, biau).error().message ==
        "learning curve: a case with 2 right of 1 scores");
  CHECK(learning_curve({}, biau).value().sums.empty());
  CHECK(learning_curve_limit(0.9, 0.8, {.cases = 0}).error().code == Errc::invalid);
  CHECK(learning_curve_limit(0.9, 0.8, {.raters = 0}).error().code == Errc::invalid);
  CHECK(learning_curve_limit(0.9, 0.8, {.false_signal = 1.0}).error().code == Errc::invalid);
  CHECK(learning_curve_limit(0.9, 0.8, {.items_per_case = 5}).error().code == Errc::undefined);
}

}  // namespace evenhand::competency
