#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "base/error.hpp"
#include "competency/limit.hpp"
#include "competency/operating.hpp"

namespace evenhand::competency {

/// When a learner's misses have become few enough.
struct LearningCurve {
  double competent = 0.90;       ///< share of scores equal to the key that is to be reached
  double not_acceptable = 0.80;  ///< share that is not yet enough
  double limit = 2.0;            ///< the sum signals above it; see `learning_curve_limit`
};

struct LearningCurvePath {
  std::vector<double> sums;                 ///< after each case; 0 or more; goes on after a signal
  std::optional<std::size_t> first_signal;  ///< place of the case: "has come to be competent"
};

/// The learning-curve CUSUM: starts from "not yet competent", and signals when a learner has become so. After
/// each case
///
///     S = max(0, S + right log(p1 / p0) + misses log((1 - p1) / (1 - p0)))
///
/// with p1 competent, p0 not acceptable. A bad beginning is forgotten, as S cannot fall below 0: it shows
/// when learning has come about, where the sequential test counts the beginning in. With one score a case it
/// is the chart of the sources. In a study it found 85 % of those who did well afterwards and passed 33 % of
/// those who did not (brachial plexus block), so it guides practice and decides about nobody.
///
/// cases   in the order of scoring; a case without a decidable score leaves S as it is
/// errors  invalid  shares that are not 0 < p0 < p1 < 1, a limit not above 0, more right than scored
/// Permuting the scores within a case changes nothing.
///
/// Biau DJ et al. (2008). British Journal of Surgery 95:925-929. Biau DJ, Porcher R (2010). Statistics in
/// Medicine 29:1900-1909 (written there for the share of failures: p0 there is 1 - competent, and delta is
/// the distance of the two).
Result<LearningCurvePath> learning_curve(std::span<const CaseCount> cases, const LearningCurve& curve);

struct LearningCurveDesign {
  std::size_t cases = 40;  ///< over which a false signal must stay rare
  std::size_t items_per_case = 7;
  double false_signal = 0.05;  ///< share of raters at `not_acceptable` who get one within these cases
  Scenario scenario = {.case_sd = 1.3};  ///< how errors go together: correlation about .2
  std::size_t raters = 4000;
  std::uint64_t seed = 1;
};

struct LearningCurveLimit {
  LearningCurve curve;        ///< with its limit
  double false_signal = 0.0;  ///< of raters at `not_acceptable`, measured on other draws
  double signal = 0.0;        ///< of raters at `competent`, within the cases
  double mean_cases = 0.0;    ///< of those, until the signal
  std::size_t raters = 0;     ///< simulated for each figure
};

/// The smallest limit, by simulation, that keeps false signals within the design: the scores of a case go
/// together, for which the published limits make no allowance.
/// errors  invalid    as above, no case, no raters, false_signal outside (0, 1)
///         undefined  the scenario cannot have these shares, or items_per_case does not divide its items
/// Reproducible by seed.
Result<LearningCurveLimit> learning_curve_limit(double competent, double not_acceptable,
                                                const LearningCurveDesign& design = {});

}  // namespace evenhand::competency
