#pragma once

#include <cstddef>
#include <span>

#include "agreement/estimate.hpp"

namespace evenhand::competency {

/// One case: decidable scores, and how many of them equal the key.
struct CaseCount {
  std::size_t right = 0;
  std::size_t scores = 0;
};

/// A share of agreement with one-sided limits that know that the scores of one case go together.
struct Limit {
  std::size_t cases = 0;  ///< with at least one decidable score
  std::size_t scores = 0;
  std::size_t right = 0;
  agreement::Value share;             ///< right / scores
  double items_per_case = 0.0;        ///< mean number of decidable scores a case
  agreement::Value observed_effect;   ///< design effect as the cases show it
  double floor_effect = 1.0;          ///< 1 + floor (items_per_case - 1)
  double effect = 1.0;                ///< the larger of the two: the one used
  agreement::Value effective_scores;  ///< n* below
  agreement::Value lower;             ///< each limit alone holds at `level`
  agreement::Value upper;
  double level = 0.0;  ///< one-sided

  friend bool operator==(const Limit&, const Limit&) = default;
};

/// Limits for the share of scores that equal the key, as survey practice has them for a proportion
/// from clusters, with a floor under the design effect.
///
///     effect = max(v / (p (1 - p) / N), 1 + floor (m - 1))
///     n*     = N / effect * (z / t)^2        z normal, t on n - 1 df, both at `level`
///     limits = Clopper-Pearson one-sided at p n* of n* (real numbers, by beta quantiles)
///
/// for N scores in n cases, m = N / n, share p. v is the variance of p by case: var(case shares) / n when
/// all cases have the same number of scores, and its extension to unequal numbers (linearized ratio,
/// Cochran 1977, section 6.3) otherwise, so that a case with a single decidable score does not weigh like
/// a full one. The floor uses the mean number of scores.
///
/// cases  those without a decidable score do not count
/// level  one-sided, in (0.5, 1); floor in [0, 1)
/// At p = 0 or p = 1 the cases show no spread: observed_effect is undefined and the floor stands alone.
/// undefined  share: no decidable score. limits: fewer than two cases.
///
/// With the effect at its floor one more miss never raises a limit, and further cases at the same share
/// never lower the lower one. With the observed effect above it a miss that makes the cases more alike can
/// raise the lower limit a little (at most .011 over all tables of 16, 24 or 32 cases of seven with a share
/// of 5/6 or more), as with any interval that estimates its own error. At .80 that turns exactly one of those
/// tables (14 flawless cases of 16, and two at 3/7 and 5/7).
///
/// Korn EL, Graubard BI (1998). Confidence intervals for proportions with small expected number of
/// positive counts estimated from survey data. Survey Methodology 24:193-201. The floor is ours.
Limit agreement_limit(std::span<const CaseCount> cases, double level, double correlation_floor);

}  // namespace evenhand::competency
