#pragma once

#include <cstddef>

#include "severity/design.hpp"
#include "severity/joint.hpp"

namespace evenhand::severity {

/// Marginal maximum likelihood: the cases are a sample from a normal population with mean 0, and are
/// integrated out by adaptive Gauss-Hermite quadrature (points centered and scaled to each case's own
/// likelihood times the population). Raters, items and thresholds are fixed. Newton's method on the
/// marginal log likelihood with its observed information (Louis 1982), which also gives the standard
/// errors; where that is not positive definite, an EM step (complete-data information).
///
/// The estimates are consistent as cases are added, which joint maximum likelihood is not. A case with
/// all its scores at one end stays in. `values` holds the posterior mean of each case, drawn toward the
/// population's, and `case_sd_after` its standard deviation.
/// When the likelihood falls with any spread between cases, `case_sd` is 0.
///
/// points  of the quadrature for a case with up to 60 scores; half as many from there, a quarter from 600
///         scores, where the likelihood is all but normal; at least 3
/// cost    an iteration O(scores levels points + cases points kept^2 + kept^3), where cases
///         with the same scores by the same raters count as one
///
/// Bock RD, Aitkin M (1981). Psychometrika 46:443-459. Adaptive points: Naylor JC, Smith AFM (1982).
/// Applied Statistics 31:214-225. Information: Louis TA (1982). Journal of the Royal Statistical
/// Society B 44:226-233.
Fitted fit_marginal(const Design& design, const Layout& layout, std::size_t points,
                    std::size_t most_iterations);

}  // namespace evenhand::severity
