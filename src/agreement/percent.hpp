#pragma once

#include <cstddef>
#include <span>
#include <string_view>

#include "agreement/estimate.hpp"

namespace evenhand::agreement {

/// A share of cases with both kinds of limits.
struct Proportion {
  Value estimate;  ///< in [0, 1]
  Value lower;     ///< Wilson, no continuity correction
  Value upper;
  Value exact_lower;  ///< Clopper-Pearson
  Value exact_upper;
  std::string_view method = "Wilson";

  static Proportion undefined(Reason reason) { return {reason, reason, reason, reason, reason, "Wilson"}; }
};

/// Share of cases to which both raters gave the same score. Scores that differ only by
/// rounding (1e-12 of their size) are the same.
/// first, second  scores (values, or ranks of categories) of the same cases
/// undefined      no case
/// Reference values: tests/reference/expected.csv, percent_*
Proportion exact_agreement(std::span<const double> first, std::span<const double> second,
                           double confidence = 0.95);

/// Share of cases whose two scores differ by at most one point (or one rank).
Proportion agreement_within_one(std::span<const double> first, std::span<const double> second,
                                double confidence = 0.95);

/// The two rules above, for one case.
bool scores_equal(double first, double second);
bool scores_within_one(double first, double second);

/// x of n, with both kinds of limits. Undefined: n = 0.
Proportion proportion(std::size_t x, std::size_t n, double confidence = 0.95);

}  // namespace evenhand::agreement
