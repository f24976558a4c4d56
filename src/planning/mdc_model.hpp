#pragma once

#include "base/error.hpp"
#include "planning/study.hpp"

namespace evenhand::planning {

/// What is expected of the scores of a study of the smallest difference that is no scoring error.
struct MdcExpected {
  double sem = 1.0;           ///< standard error of measurement of agreement, points of the total
  double rater_share = 0.25;  ///< share of its square that is lasting difference between raters
};

/// errors  invalid  a SEM that is not above 0, a share outside [0, 1)
Result<void> check(const MdcExpected& expected);

/// Simulated studies in which each of `raters` raters scores each of `cases` cases, with the limits of
/// MDC95 = 1.96 sqrt(2) SEM that `agreement::sem` gives. The mean squares of raters and rest are drawn from
/// their distributions for independent normal parts (chi-square with raters - 1 and (cases - 1)(raters - 1)
/// degrees of freedom); the cases themselves do not enter. A replicate keeps its draws as the study grows in
/// cases. Pre-condition: check(expected), two cases and two raters at least. cost  O(replicates raters)
Achieved mdc_achieved(const MdcExpected& expected, std::size_t cases, std::size_t raters, const Goal& goal,
                      const Simulation& simulation);

}  // namespace evenhand::planning
