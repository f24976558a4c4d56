#pragma once

#include "base/error.hpp"
#include "stats/interval.hpp"

namespace evenhand::stats {

// Limits of a proportion x / n. Both may be real numbers: a design effect turns counts into
// effective counts. `confidence` is in (0, 1).
// Errors: undefined  n is not above 0
//         invalid    x is not in [0, n], or confidence is not in (0, 1)

/// Two-sided score limits without continuity correction.
/// Wilson EB (1927). Journal of the American Statistical Association 22:209-212.
Result<Interval> wilson(double x, double n, double confidence = 0.95);
/// One-sided score limits: each alone holds with the given confidence.
Result<double> wilson_lower(double x, double n, double confidence = 0.95);
Result<double> wilson_upper(double x, double n, double confidence = 0.95);

/// Two-sided limits from the binomial tails, through beta quantiles (for real x and n that is
/// their continuous extension). The lower limit is 0 at x = 0, the upper one 1 at x = n.
/// Clopper CJ, Pearson ES (1934). Biometrika 26:404-413.
Result<Interval> clopper_pearson(double x, double n, double confidence = 0.95);
/// One-sided limits: each alone holds with the given confidence.
Result<double> clopper_pearson_lower(double x, double n, double confidence = 0.95);
Result<double> clopper_pearson_upper(double x, double n, double confidence = 0.95);

}  // namespace evenhand::stats
