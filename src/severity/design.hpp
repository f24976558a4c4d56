#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "severity/curve.hpp"
#include "severity/model.hpp"
#include "severity/ratings.hpp"

namespace evenhand::severity {

inline constexpr std::uint32_t left_out = UINT32_MAX;

/// The scores that take part in a fit, renumbered from 0: only cases, raters and items with a finite
/// estimate, and only levels in use. An unused level is merged with the used level below it (the lowest
/// ones with the lowest in use), and the levels in use are counted 0, 1, 2...: the step from 1 to 3 is
/// one step when nobody gives 2. Levels are in use within the item (partial credit) or anywhere (common
/// thresholds).
struct Design {
  Model model = Model::partial_credit;
  std::vector<Score> scores;                      ///< sorted by case, rater, item; `level` is the rank
  std::vector<std::size_t> cases, raters, items;  ///< places in the ratings
  std::vector<std::uint32_t> case_at, rater_at, item_at;           ///< the other way round, or `left_out`
  std::vector<Extreme> extreme_case, extreme_rater, extreme_item;  ///< by place in the ratings
  std::vector<std::vector<std::size_t>> levels;  ///< a set of thresholds: its levels in use, ascending
  std::vector<std::size_t> set_of;               ///< which set an item in the fit uses

  std::size_t most_steps() const;
  std::size_t steps(std::size_t set) const { return levels[set].size() - 1; }
  /// Rank of a level within a set of thresholds, merged as above.
  std::uint32_t rank(std::size_t set, std::size_t level) const;
};

/// Leaves out extreme raters and items, and extreme cases when they are parameters (joint); again and
/// again, as leaving one out can make another extreme. cost O(scores x rounds)
Design design_of(const Ratings& ratings, Model model, Estimator estimator);

/// Where each parameter stands in one list: cases, raters, items (common thresholds with two items or
/// more), thresholds set by set.
struct Layout {
  std::size_t cases = 0, raters = 0, items = 0;
  std::vector<std::size_t> first_threshold;  ///< by set, plus one past the last

  explicit Layout(const Design& design);
  std::size_t case_(std::size_t c) const { return c; }
  std::size_t rater(std::size_t r) const { return cases + r; }
  std::size_t item(std::size_t i) const { return cases + raters + i; }
  std::size_t threshold(std::size_t set, std::size_t step) const { return first_threshold[set] + step - 1; }
  std::size_t size() const { return first_threshold.back(); }
};

/// The curve of each item in the fit at these parameters: log P(k) = k (u - item) - sum of thresholds up to
/// k.
std::vector<Curve> curves_at(const Design& design, const Layout& layout, const std::vector<double>& values);

}  // namespace evenhand::severity
