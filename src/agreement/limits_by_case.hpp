#pragma once

#include <span>
#include <vector>

#include "agreement/estimate.hpp"
#include "agreement/limits_of_agreement.hpp"
#include "agreement/rating_table.hpp"

namespace evenhand::agreement {

// Limits for scores crowded at one end of the scale, where the textbook's are too narrow: there the error
// differs from case to case, and what leaving out each case shows tells by how much. They stand beside the
// others, never in their place: for normal scores the textbook's are as good or better
// (reports/methods/coverage.md).

/// Of one rating, over cases and raters both.
struct VarianceLimits {
  Estimate icc_agreement = Estimate::undefined(not_asked);    ///< ICC(2,1)
  Estimate icc_consistency = Estimate::undefined(not_asked);  ///< ICC(3,1)
  Estimate sem_agreement = Estimate::undefined(not_asked);    ///< in score points
  Estimate sem_consistency = Estimate::undefined(not_asked);
};

/// Limits of ICC and SEM by mean squares whose degrees of freedom are told from the cases: 2 MS^2 / V for the
/// squares of case and residual, V the variance that leaving out each case shows, and at most those of the
/// design. The raters' square keeps k - 1.
///
/// table      n cases x k raters on an interval scale; only cases with every rating count
/// limits     of the shares as of `icc_reml`, in [0, 1]: modified large-sample, F for consistency; of SEM
/// modified
///            large-sample, chi-square for consistency
/// undefined  as ICC(2,1), ICC(3,1) and SEM are. Limits: fewer than three cases; no variance within cases, or
///            none between them; every case with the same error, so that none can be told apart
/// cost       O(n k)
///
/// Tukey JW (1958). Annals of Mathematical Statistics 29:614 (variance by leaving out); Satterthwaite FE
/// (1946). Biometrics Bulletin 2:110-114 (degrees of freedom from a variance). Put together here, and
/// measured: from ten cases on, raters much alike, .92-.96 for ICC with 60 % of the scores at the top, where
/// the others cover .82-.92.
VarianceLimits variance_limits_by_case(const RatingTable& table, double confidence = 0.95);

/// Of two raters.
struct PairLimits {
  Estimate concordance = Estimate::undefined(not_asked);
  Estimate lower = Estimate::undefined(not_asked);  ///< the lower limit of agreement, with its own limits
  Estimate upper = Estimate::undefined(not_asked);

  static PairLimits undefined(Reason reason);
};

/// Limits of Lin's concordance by the jackknife of Fisher's z, and of the limits of agreement by the
/// jackknife, with t quantiles for n - 1 degrees of freedom; for these two raters.
///
/// first, second  scores of the same cases on an interval scale
/// undefined      as `concordance` and `limits_of_agreement` are. Limits: fewer than three cases; without one
/// of
///                them there is no value, or the concordance is perfect
/// cost           O(n)
///
/// Sources: agreement/by_case.hpp.
PairLimits pair_limits_by_case(std::span<const double> first, std::span<const double> second,
                               double confidence = 0.95, double z = LimitsOfAgreementOptions{}.z);

/// What is offered where the cautions say that limits are too narrow near an end of the scale; not asked for
/// elsewhere.
struct OfferedLimits {
  VarianceLimits group;
  std::vector<PairLimits> pairs;  ///< one a pair of the measure, or none
};

}  // namespace evenhand::agreement
