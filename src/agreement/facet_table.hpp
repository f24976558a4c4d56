#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "base/error.hpp"

namespace evenhand::agreement {

/// A score of a case by a rater on an item, by place.
struct FacetScore {
  std::size_t case_, rater, item;
  double score;
};

/// Scores of cases x raters x items, any cell missing; finite where a cell is filled.
class FacetTable {
 public:
  /// Errors: invalid, naming the score: a place outside the size, a number that is not finite, a cell
  /// filled twice.
  static Result<FacetTable> from_scores(std::span<const FacetScore> scores, std::size_t cases,
                                        std::size_t raters, std::size_t items);

  std::size_t cases() const { return cases_; }
  std::size_t raters() const { return raters_; }
  std::size_t items() const { return items_; }
  std::size_t scores() const { return filled_; }
  bool complete() const { return filled_ == cells_.size(); }
  std::optional<double> at(std::size_t case_, std::size_t rater, std::size_t item) const {
    return cells_[(case_ * raters_ + rater) * items_ + item];
  }

 private:
  FacetTable(std::size_t cases, std::size_t raters, std::size_t items)
      : cases_(cases), raters_(raters), items_(items), cells_(cases * raters * items) {}

  std::size_t cases_, raters_, items_;
  std::size_t filled_ = 0;
  std::vector<std::optional<double>> cells_;
};

}  // namespace evenhand::agreement
