#pragma once

#include <cstddef>
#include <span>

#include "base/error.hpp"
#include "stats/dense.hpp"
#include "stats/interval.hpp"

namespace evenhand::stats {

/// Limits of a variance whose estimate has `df` degrees of freedom (real): df v / chi-square quantile.
/// Errors: undefined, variance not above 0 or df not above 0.
Result<Interval> chi_square_limits(double variance, double df, double confidence);

/// Degrees of freedom of a weighted sum of estimated variances, 2 (sum)^2 / variance of the sum.
/// Satterthwaite FE (1946). Biometrics Bulletin 2:110-114.
/// Errors: undefined, the sum or its variance is not above 0.
Result<double> satterthwaite_df(std::span<const double> weights, std::span<const double> variances,
                                const Dense& covariance);

/// An independent mean square of a sum or ratio of variances.
struct WeightedSquare {
  double weight;  ///< in the sum; of either sign
  double square;
  double df;
};

/// Limits of a weighted sum of expected mean squares, modified large-sample.
/// Holds its level where Satterthwaite's approximation does not: one mean square with few degrees of
/// freedom carries most of the sum (a few raters who differ a lot).
///
/// Graybill FA, Wang CM (1980). JASA 75:869-873 (one sign). Ting N, Burdick RK, Graybill FA,
/// Jeyaratnam S, Lu TFC (1990). Journal of Statistical Computation and Simulation 35:135-143 (both
/// signs; their terms between squares of the same sign, which are small, are left out). From memory;
/// checked by simulated coverage.
/// Errors: undefined, a df is not above 0.
Result<Interval> modified_large_sample(std::span<const WeightedSquare> squares, double confidence);

/// A mean square in the numerator and in the denominator of a ratio.
struct RatioSquare {
  double numerator;    ///< weight there
  double denominator;  ///< weight there
  double square;
  double df;
};

/// Limits in [0, 1] of a share of variance N / D: the p for which the limits of N - p D reach 0.
/// With two mean squares these are the exact F limits; with three the modified large-sample limits of
/// an agreement ICC (Cappelleri JC, Ting N (2003). Statistics in Medicine 22:1861-1877; compared in
/// Ionan AC, Polley MC, McShane LM, Dobbin KK (2014). BMC Medical Research Methodology 14:121).
/// Errors: undefined, a df is not above 0.
Result<Interval> share_limits(std::span<const RatioSquare> squares, double confidence);

}  // namespace evenhand::stats
