#include "competency/sequential.hpp"

#include <cmath>
#include <limits>
#include <vector>

#include <catch2/catch.hpp>

namespace evenhand::competency {
namespace {

/// One score a case and no divisor: the test of the textbooks.
SequentialPlan textbook(double p0, double p1) {
  return {.not_acceptable = p0, .competent = p1, .design_effect = 1.0, .least_cases = 1, .most_cases = 1000};
}

}  // namespace

// Wald's formulas for competent .90 against .70, both errors .05, computed by hand: limits log 19 = 2.944;
// +.2513 a success, -1.0986 a miss; 12 successes in a row pass, 3 misses in a row fail.
TEST_CASE("the boundaries and steps are Wald's", "[reference]") {
  const std::vector<CaseCount> right(20, {1, 1}), missed(20, {0, 1});
  const auto passes = sequential_test(right, textbook(0.70, 0.90)).value();
  CHECK(passes.ready_at == Approx(2.944).margin(0.0005));
  CHECK(passes.not_yet_at == Approx(-2.944).margin(0.0005));
  CHECK(passes.per_right == Approx(0.2513).margin(0.00005));
  CHECK(passes.per_miss == Approx(-1.0986).margin(0.00005));
  CHECK(passes.verdict == Verdict::ready);
  CHECK(passes.steps.size() == 12);
  const auto fails = sequential_test(missed, textbook(0.70, 0.90)).value();
  CHECK(fails.verdict == Verdict::not_yet);
  CHECK(fails.steps.size() == 3);
}

// Kestin IG (1995), British Journal of Anaesthesia 75:805-809: a chart of attempts that moves by -s at a
// success and 1 - s at a failure between limits h. It is this test divided by P + Q = log(p1/p0) +
// log((1-p0)/(1-p1)) for failure rates p0 acceptable and p1 not; s, h and the successes in a row that cross
// it recomputed from the paper's formulas for its rates, both errors .1.
TEST_CASE("the limits of Kestin's chart come out, for the failure rates of the paper", "[reference]") {
  struct Row {
    double acceptable, unacceptable, s, h;
    std::size_t straight;
  };
  for (const Row& row : {Row{0.05, 0.10, 0.0724, 2.94, 41}, Row{0.10, 0.20, 0.1452, 2.71, 19},
                         Row{0.20, 0.40, 0.2933, 2.24, 8}, Row{0.05, 0.15, 0.0919, 1.82, 20}}) {
    SequentialPlan plan = textbook(1.0 - row.unacceptable, 1.0 - row.acceptable);
    plan.false_ready = plan.false_not_yet = 0.10;
    const std::vector<CaseCount> successes(60, {1, 1});
    const auto test = sequential_test(successes, plan).value();
    const double unit = test.per_right - test.per_miss;
    CHECK(test.per_right / unit == Approx(row.s).margin(0.00005));
    CHECK(test.ready_at / unit == Approx(row.h).margin(0.005));
    CHECK(-test.not_yet_at / unit == Approx(row.h).margin(0.005));
    CHECK(test.steps.size() == row.straight);
  }
}

TEST_CASE("a flawless rater is ready after eleven half cases, not before", "[property]") {
  // 7 log(.9 / .8) / 3 = .275 a case; log 19 = 2.944 needs 10.7 of them
  const std::vector<CaseCount> flawless(30, {7, 7});
  const auto test = sequential_test(flawless).value();
  CHECK(test.verdict == Verdict::ready);
  CHECK(test.steps.size() == 11);
  CHECK(test.steps[9].verdict == Verdict::more_cases);
}

TEST_CASE("nothing is decided before the least number of cases, and the test ends at the most",
          "[property]") {
  const std::vector<CaseCount> wrong(40, {0, 7});
  const auto early = sequential_test(wrong).value();
  CHECK(early.verdict == Verdict::not_yet);
  CHECK(early.steps.size() == 6);
  // 6 of 7 right adds (6 log 1.125 - log 2) / 3 = .005 a case: on the fence to the end
  const std::vector<CaseCount> fence(40, {6, 7});
  const auto late = sequential_test(fence).value();
  CHECK(late.verdict == Verdict::not_shown);
  CHECK(late.steps.size() == 30);
}

TEST_CASE("dividing by the design effect stretches the test, and cases without a score do not count",
          "[property]") {
  SequentialPlan plan = textbook(0.70, 0.90);
  plan.design_effect = 2.0;
  std::vector<CaseCount> right;
  for (int i = 0; i < 30; ++i) {
    right.push_back({1, 1});
    right.push_back({0, 0});
  }
  const auto test = sequential_test(right, plan).value();
  CHECK(test.verdict == Verdict::ready);
  CHECK(test.steps.size() == 24);
  CHECK(test.steps.back().log_ratio == Approx(12.0 * std::log(0.9 / 0.7)));
}

TEST_CASE("no case: the test goes on", "[edge]") {
  const auto test = sequential_test({}).value();
  CHECK(test.verdict == Verdict::more_cases);
  CHECK(test.steps.empty());
}

TEST_CASE("a plan that is none is refused with the reason", "[edge]") {
  const std::vector<CaseCount> one{{1, 1}};
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto refused = [&](SequentialPlan plan) { return !sequential_test(one, plan).has_value(); };
  CHECK(refused({.not_acceptable = 0.9, .competent = 0.8}));
  CHECK(refused({.not_acceptable = 0.0}));
  CHECK(refused({.competent = 1.0}));
  CHECK(refused({.not_acceptable = nan}));
  CHECK(refused({.false_ready = 0.0}));
  CHECK(refused({.false_not_yet = 0.5}));
  CHECK(refused({.design_effect = 0.5}));
  CHECK(refused({.design_effect = nan}));
  CHECK(refused({.least_cases = 0}));
  CHECK(refused({.least_cases = 31}));
  const std::vector<CaseCount> impossible{{3, 2}};
  const auto more_right = sequential_test(impossible);
  REQUIRE_FALSE(more_right);
  CHECK(more_right.error().message == "sequential test: a case with 3 right of 2 scores");
}

}  // namespace evenhand::competency
