#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "base/error.hpp"
#include "competency/decision.hpp"
#include "competency/limit.hpp"

namespace evenhand::competency {

/// What a sequential test looks for, and how often it may err.
struct SequentialPlan {
  double not_acceptable = 0.80;  ///< share of scores equal to the key that must not be called ready
  double competent = 0.90;       ///< share that should be called ready
  double false_ready = 0.05;     ///< alpha: of raters at `not_acceptable`, called ready
  double false_not_yet = 0.05;   ///< beta: of raters at `competent`, called not yet
  /// What a case's log-ratio is divided by, because its scores go together: 1 + correlation (scores - 1),
  /// with 3 for whole cases of 14 scores up to a correlation of about .2.
  double design_effect = 3.0;
  std::size_t least_cases = 6;
  std::size_t most_cases = 30;

  friend bool operator==(const SequentialPlan&, const SequentialPlan&) = default;
};

/// Where the test stands after a case.
struct SequentialStep {
  std::size_t cases = 0;                  ///< with a decidable score, so far
  double log_ratio = 0.0;                 ///< cumulative, divided by the design effect
  Verdict verdict = Verdict::more_cases;  ///< more_cases: go on

  friend bool operator==(const SequentialStep&, const SequentialStep&) = default;
};

struct SequentialTest {
  double ready_at = 0.0;              ///< log((1 - beta) / alpha): ready at or above it
  double not_yet_at = 0.0;            ///< log(beta / (1 - alpha)): not yet at or below it
  double per_right = 0.0;             ///< what a score equal to the key adds
  double per_miss = 0.0;              ///< what a miss adds (below 0)
  std::vector<SequentialStep> steps;  ///< up to the case that decided; later cases change nothing
  Verdict verdict = Verdict::more_cases;
};

/// Wald's sequential probability ratio test of two shares of agreement, one step a case:
///
///     case adds  (right log(p1 / p0) + misses log((1 - p1) / (1 - p0))) / design effect
///
/// with p0 not acceptable, p1 competent. From `least_cases` on: ready when the sum reaches
/// log((1 - beta) / alpha), not yet when it falls to log(beta / (1 - alpha)); without either after
/// `most_cases`: not shown. The scores of one case are not independent: undivided the test calls up to a
/// quarter of raters at p0 ready. With these numbers and whole cases of 14 scores the simulated share stays
/// below 5 % up to a within-case correlation of about .2 (reports/methods/operating-characteristics.md).
///
/// It knows nothing of items: whoever uses it holds the item screen of `decide` beside it.
///
/// cases   in the order of scoring; those without a decidable score are passed over
/// errors  invalid  shares that are not 0 < p0 < p1 < 1, alpha or beta outside (0, 0.5), a design effect
///                  below 1, least_cases 0 or above most_cases, more scores right than scored
/// Permuting the scores within a case changes nothing.
///
/// Wald A (1945). Sequential tests of statistical hypotheses. Annals of Mathematical Statistics 16:117-186.
/// Dividing by a design effect, and the bounds on the number of cases, are ours.
Result<SequentialTest> sequential_test(std::span<const CaseCount> cases, const SequentialPlan& plan = {});

}  // namespace evenhand::competency
