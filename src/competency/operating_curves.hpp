#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "base/error.hpp"
#include "competency/operating.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

/// What a standard does with raters of one true share, whose scores of one case go together this much: one
/// entry for each number of attempts that the standard has a level for, 1 first. The attempts are decided on
/// the same simulated scores.
struct OperatingPoint {
  double share = 0.0;
  double correlation = 0.0;  ///< within cases, as asked for
  std::vector<Operating> by_attempts{};
};

/// Shares and correlations that a department is shown beside its standard; its own two limits are added.
std::vector<double> shown_shares(const Standard& standard);
inline constexpr std::array shown_correlations{0.0, 0.1, 0.2, 0.3};

/// Simulates raters as `operating_characteristics` does, with case effects as large as the correlation wants
/// them, no item effects and no able children, and decides as `decide` does: the same looks, limits and
/// screen. Of sets of equal cases a limit depends on two whole numbers only, and is worked out once for each.
///
/// items  of the instrument; the items of a case divide them
/// errors invalid    the items of a case do not divide those of the instrument, or the standard has no look
///        undefined  no case effect gives the correlation at that share
/// Reproducible by seed, one stream a rater. cost: shares x correlations x raters sets, some 10 us each
Result<std::vector<OperatingPoint>> operating_curves(const Standard& standard, std::size_t items,
                                                     std::span<const double> shares,
                                                     std::span<const double> correlations, std::size_t raters,
                                                     std::uint64_t seed);

}  // namespace evenhand::competency
