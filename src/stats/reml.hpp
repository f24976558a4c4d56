#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "stats/dense.hpp"

namespace evenhand::stats {

/// Why there are no components. Each is an answer, told apart so that a caller can say it in the
/// words of its trade.
enum class RemlProblem {
  too_few_levels,  ///< a factor has fewer than two levels with a value
  no_variation,    ///< all values are the same
  no_residual_df,  ///< every value is needed to place the levels
  confounded,      ///< the design cannot tell two of the components apart
  no_residual,     ///< the levels explain every value: the likelihood has no maximum
};
std::string_view text(RemlProblem problem);

/// Variance components by restricted maximum likelihood, each held at 0 or above.
struct RemlFit {
  std::vector<double> variance;    ///< one a random term in the order of the function, residual last
  std::vector<bool> at_bound;      ///< the term's variance is 0 because it may not be negative
  Dense covariance;                ///< of `variance`, in the same order; 0 for terms at the bound; empty
                                   ///< when the information is singular to working precision
  std::optional<double> deviance;  ///< -2 log restricted likelihood; absent when it has no finite value
                                   ///< or a closed form was used
  std::size_t values = 0;
  std::size_t linked_groups = 1;  ///< of rows and columns; above 1 they fall into groups without a common
                                  ///< level, and levels of different groups compare by assumption only
  bool closed_form = false;
  std::size_t iterations = 0;
  double gradient_norm = 0.0;  ///< largest slope of the deviance in the logarithm of a variance ratio
  bool converged = true;
};

using RemlResult = tl::expected<RemlFit, RemlProblem>;

/// Random effects models with a common mean, fitted to all values; any cell may be empty.
///
/// values   finite; a factor is a level number beside each value (0 .., gaps allowed)
/// returns  the maximum of the restricted likelihood over variances >= 0. Newton's method on the
///          ratios to the residual variance, which is profiled out, until the next step would be
///          below 1e-8 standard errors; `covariance` is the inverse expected information (average
///          information for three factors).
/// errors   see RemlProblem
/// cost     two-way: O(values * smaller number of levels) once, then O(smaller^3) an iteration.
///          three-way: each level of the largest factor is a block; with m = product of the two
///          smaller numbers of levels, O(m^3) an iteration and O(m^2 * smallest) for each pattern of
///          gaps that a block shows. Complete data with non-negative ANOVA components: closed form.
///
/// Patterson HD, Thompson R (1971). Biometrika 58:545-554. Harville DA (1977). JASA 72:320-338.
/// Average information: Gilmour AR, Thompson R, Cullis BR (1995). Biometrics 51:1440-1450.
/// Identified when the matrices of the quadratic forms are linearly independent, starting values:
/// Rao CR (1972), minimum norm quadratic unbiased estimation, JASA 67:112-115.
/// Reference values: tests/reference/expected.csv, varcomp_* with method=reml

/// group, residual
RemlResult reml_one_way(std::span<const double> values, std::span<const std::uint32_t> group);
/// row, column, residual; a cell may hold several values
RemlResult reml_two_way(std::span<const double> values, std::span<const std::uint32_t> row,
                        std::span<const std::uint32_t> column);
/// first, second, third, first:second, first:third, second:third, residual; a cell holds at most one
/// value. `linked_groups` is about the first two.
RemlResult reml_three_way(std::span<const double> values, std::span<const std::uint32_t> first,
                          std::span<const std::uint32_t> second, std::span<const std::uint32_t> third);

}  // namespace evenhand::stats
