#include "competency/sequential.hpp"

#include <cmath>

namespace evenhand::competency {
namespace {

bool inside(double x, double low, double high) { return x > low && x < high; }

Result<void> check(const SequentialPlan& plan) {
  if (!inside(plan.not_acceptable, 0.0, 1.0) || !inside(plan.competent, plan.not_acceptable, 1.0))
    return fail(Errc::invalid,
                "sequential test: the shares must be 0 < not acceptable < competent < 1, not {} and {}",
                plan.not_acceptable, plan.competent);
  if (!inside(plan.false_ready, 0.0, 0.5) || !inside(plan.false_not_yet, 0.0, 0.5))
    return fail(Errc::invalid, "sequential test: the error rates must lie between 0 and .5, not {} and {}",
                plan.false_ready, plan.false_not_yet);
  if (!(plan.design_effect >= 1.0) || !std::isfinite(plan.design_effect))
    return fail(Errc::invalid, "sequential test: the design effect must be 1 or more, not {}",
                plan.design_effect);
  if (plan.least_cases < 1 || plan.least_cases > plan.most_cases)
    return fail(Errc::invalid, "sequential test: at least {} and at most {} cases leave no case to decide at",
                plan.least_cases, plan.most_cases);
  return {};
}

Verdict verdict_at(const SequentialTest& test, const SequentialStep& step, const SequentialPlan& plan) {
  if (step.cases >= plan.least_cases) {
    if (step.log_ratio >= test.ready_at) return Verdict::ready;
    if (step.log_ratio <= test.not_yet_at) return Verdict::not_yet;
  }
  return step.cases >= plan.most_cases ? Verdict::not_shown : Verdict::more_cases;
}

}  // namespace

Result<SequentialTest> sequential_test(std::span<const CaseCount> cases, const SequentialPlan& plan) {
  if (auto checked = check(plan); !checked) return tl::unexpected(checked.error());
  const double p0 = plan.not_acceptable, p1 = plan.competent;
  const double alpha = plan.false_ready, beta = plan.false_not_yet;
  SequentialTest test{.ready_at = std::log((1.0 - beta) / alpha),
                      .not_yet_at = std::log(beta / (1.0 - alpha)),
                      .per_right = std::log(p1 / p0) / plan.design_effect,
                      .per_miss = std::log((1.0 - p1) / (1.0 - p0)) / plan.design_effect,
                      .steps = {}};
  // Counted, not added up: the same counts then give the same digits in whatever order they came.
  CaseCount sum;
  SequentialStep step;
  for (const CaseCount& each : cases) {
    if (each.right > each.scores)
      return fail(Errc::invalid, "sequential test: a case with {} right of {} scores", each.right,
                  each.scores);
    if (each.scores == 0 || test.verdict != Verdict::more_cases) continue;
    ++step.cases;
    sum.right += each.right;
    sum.scores += each.scores;
    step.log_ratio = static_cast<double>(sum.right) * test.per_right +
                     static_cast<double>(sum.scores - sum.right) * test.per_miss;
    step.verdict = test.verdict = verdict_at(test, step, plan);
    test.steps.push_back(step);
  }
  return test;
}

}  // namespace evenhand::competency
