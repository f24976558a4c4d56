#pragma once

#include <cstddef>
#include <vector>

#include "severity/design.hpp"
#include "severity/information.hpp"
#include "severity/linkage.hpp"

namespace evenhand::severity {

/// How an iteration ended.
enum class Outcome {
  converged,
  out_of_steps,  ///< the last step allowed was taken, and the estimates still moved
  diverging,     ///< the likelihood has no maximum at finite values: some scores never overlap
  nothing_to_fit,
};

struct Convergence {
  Outcome outcome = Outcome::nothing_to_fit;
  std::size_t iterations = 0;
  double gradient_norm = 0.0;  ///< largest absolute derivative of the log likelihood
  double log_likelihood = 0.0;
};

/// Estimates in the order of the Layout. The redundant ones are 0: only differences within a linked
/// group mean anything yet.
struct Fitted {
  std::vector<double> values;
  Covariance covariance;
  Convergence convergence;
  double case_sd = 0.0;               ///< marginal: of the population of cases
  double log_case_sd_se = 0.0;        ///< 0 when case_sd is 0
  std::vector<double> case_sd_after;  ///< marginal: standard deviation of each case given its scores
};

/// Joint maximum likelihood by Newton's method: the model is an exponential family, so the information
/// is the same observed or expected and the log likelihood is concave. Standard errors are those of
/// the inverse information.
///
/// Its known bias: every case brings a parameter of its own, so with a fixed number of scores a case the
/// estimates do not tend to the truth as cases are added; differences between raters come out too large, by a
/// factor near L / (L - 1) for L scores a case: exactly 2 for two raters, one item and two levels (Andersen);
/// simulated here with five levels, relative to the marginal estimate, 1.27 at L = 5, 1.22 at 6, 1.01 at 140
/// (tests/severity/bias_test.cpp).
/// Andersen EB (1973). Conditional Inference and Models for Measuring. Neyman J, Scott EL (1948).
/// Econometrica 16:1-32.
///
/// cost  an iteration O(scores levels^2 + eliminated kept^2 + kept^3)
Fitted fit_joint(const Design& design, const Layout& layout, const Links& links, std::size_t most_iterations);

}  // namespace evenhand::severity
