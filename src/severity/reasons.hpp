#pragma once

#include "severity/prediction.hpp"
#include "severity/severity.hpp"

namespace evenhand::severity {

// Why something has no value; the words are part of the answer.
inline constexpr Reason diverges{
    "no finite estimate: the scores fall apart into sets that never overlap, and the likelihood grows "
    "without end"};
inline constexpr Reason no_scores{"no score"};
inline constexpr Reason tells_nothing{"no score on a case and item whose scores vary"};
inline constexpr Reason alone{"the only rater of the group: nobody to compare with"};
inline constexpr Reason one_case{"the only case of the group: nothing to compare it with"};
inline constexpr Reason one_item{"the only item of the group: nothing to compare it with"};
inline constexpr Reason not_linked{
    "raters, cases or items fall into groups that nothing connects: no common zero"};
inline constexpr Reason no_key{"there is no reference key among the raters"};
inline constexpr Reason is_key{"this is the reference key"};
inline constexpr Reason key_extreme{
    "the key's scores are all at one end, so its severity has no finite estimate"};
inline constexpr Reason key_elsewhere{
    "not linked with the key: no case that both scored, nor raters in between"};
inline constexpr Reason no_spread{"the scores show no spread between cases"};
inline constexpr Reason left_out_of_fit{"left out of the fit: every score is at one end"};
inline constexpr Reason flat_item{"every score is at one level, so there is no threshold"};

inline Measured undefined(Reason reason) { return {reason, reason}; }

inline Fit fit_of(const ResidualSums& sums) {
  if (sums.scores == 0) return {no_scores, no_scores};
  return {sums.squares / sums.variance, sums.standardized / static_cast<double>(sums.scores)};
}

}  // namespace evenhand::severity
