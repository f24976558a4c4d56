#pragma once

#include "base/error.hpp"

namespace evenhand::stats {

// Quantiles and tails. A quantile takes the lower-tail probability p in (0, 1). Degrees of
// freedom and shapes are real numbers above 0. Anything else, and an argument that is not
// finite, has no answer: `undefined`, with the argument named.

Result<double> normal_quantile(double p);
/// P(Z > z); defined for every finite z.
Result<double> normal_upper_tail(double z);

Result<double> t_quantile(double p, double df);
/// P(T > t).
Result<double> t_upper_tail(double t, double df);
/// P(|T| > |t|): the two-sided p value.
Result<double> t_two_sided(double t, double df);

Result<double> f_quantile(double p, double df1, double df2);
/// P(F > f), f >= 0.
Result<double> f_upper_tail(double f, double df1, double df2);

Result<double> chi_square_quantile(double p, double df);
/// P(X > x), x >= 0.
Result<double> chi_square_upper_tail(double x, double df);

Result<double> beta_quantile(double p, double a, double b);

}  // namespace evenhand::stats
