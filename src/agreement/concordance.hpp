#pragma once

#include <span>

#include "agreement/estimate.hpp"

namespace evenhand::agreement {

/// Lin's concordance correlation: 1 less the mean squared difference of the two, over what it would be
/// without any correlation: 2 s12 / (s1^2 + s2^2 + (m1 - m2)^2), with moments of divisor n.
///
/// first, second  scores of the same cases on an interval scale; the unit cancels out
/// limits         Fisher's z -/+ z sqrt(V), turned back; so within (-1, 1). V is Lin's with the
///                correction of 2000 and divisor n - 2, written with Cb = rc / r in place of the
///                quotients by r, so that it has a value where the two are uncorrelated.
/// undefined      fewer than two cases; both gave every case one and the same score (0/0). Limits:
///                fewer than three cases; one of them gave every case the same score; perfect
///                concordance (z is infinite)
/// cost           O(n), from centered values
///
/// Lin LI (1989). Biometrics 45:255-268. Correction: Biometrics 56:324-325 (2000).
/// Reference values: tests/reference/expected.csv, lin_ccc*
Estimate concordance(std::span<const double> first, std::span<const double> second, double confidence = 0.95);

}  // namespace evenhand::agreement
