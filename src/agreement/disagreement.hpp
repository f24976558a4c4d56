#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "agreement/estimate.hpp"
#include "agreement/kappa.hpp"
#include "agreement/scale.hpp"

namespace evenhand::agreement {

/// A score beside the reference key of the same case: places in the category list.
struct KeyedScore {
  std::uint32_t case_;  ///< 0 ... cases - 1
  std::int32_t key;
  std::int32_t score;
};

/// What raters make of one item, over all raters and cases. Intervals by case.
struct Disagreement {
  std::size_t n = 0;
  Estimate exact;
  Estimate within_one;
  Estimate mean_signed;       ///< score minus key: above 0 when raters score too high
  Estimate mae;               ///< mean of |score - key|
  Estimate share;             ///< of the disagreement |score - key| summed over all items
  ByWeights<Estimate> kappa;  ///< key against score, over all raters

  /// Categories of `differences` and `key_by_score`; undefined counts come with a reason.
  Value tabulated;                        ///< 1, or why the two tables below are empty
  std::vector<std::size_t> differences;   ///< counts of score - key in places, -(q-1) ... q-1
  std::vector<std::size_t> key_by_score;  ///< q x q counts, row-major, key in rows

  static Disagreement undefined(Reason reason);
};

/// More categories than this are not tabulated.
inline constexpr std::size_t most_tabulated_categories = 30;

/// scores              of one item
/// all_items_by_case   sum of |score - key| over all items, one entry a case; empty where a
///                     share means nothing (a total, a single measure)
/// Differences are of category values, of ranks where the categories are labels.
/// limits     of shares and means by `ratio_by_case`; of kappas by `jackknifed_z_by_case`, leaving out a case
/// with
///            every rater's score of it
/// undefined  no score beside a key; at nominal level all but exact, kappa without weights and
///            the confusion table; share: no disagreement at all. Limits of kappas: see there, and more than
///            2e8 cells to count, cases x categories x categories
Disagreement disagreement(std::span<const KeyedScore> scores, const Scale& scale, std::size_t cases,
                          std::span<const double> all_items_by_case, double confidence = 0.95);

}  // namespace evenhand::agreement
