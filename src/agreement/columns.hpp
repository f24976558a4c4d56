#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "agreement/disagreement.hpp"
#include "agreement/scale.hpp"

namespace evenhand::agreement {

struct ScoreMatrix;

/// One measure of a ScoreMatrix: places in the category list of its scale, rater by rater.
struct Columns {
  Scale scale;
  std::size_t raters;
  std::size_t cases;
  std::vector<std::int32_t> places;  ///< rater * cases + case; below 0: no score

  std::span<const std::int32_t> of(std::size_t rater) const {
    return std::span(places).subspan(rater * cases, cases);
  }
};

/// Scores of one item; those filled by a skip rule are no scores of the item.
Columns item_columns(const ScoreMatrix& scores, const Scale& scale, std::size_t item);

/// Sums over all items, filled scores included, where every item has one; on an interval scale.
/// Nothing when the categories are labels or nominal: they have no sum.
std::optional<Columns> total_columns(const ScoreMatrix& scores, const Scale& scale);

/// Every score of a rater who is not the key, beside the key's for the same case.
std::vector<KeyedScore> keyed_scores(const Columns& columns, std::size_t key);

}  // namespace evenhand::agreement
