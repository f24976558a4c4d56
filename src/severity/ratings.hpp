#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"

namespace evenhand::severity {

/// One score: who gave which level of an item to a case. All four are places in the lists of
/// Contents, from 0.
struct Score {
  std::uint32_t case_ = 0;
  std::uint32_t rater = 0;
  std::uint32_t item = 0;
  std::uint32_t level = 0;

  friend bool operator==(const Score&, const Score&) = default;
};

struct Contents {
  std::vector<std::string> cases;
  std::vector<std::string> raters;
  std::vector<std::string> items;    ///< one nameless item when there is one measure
  std::vector<double> level_points;  ///< what a level is worth, ascending: 0, 1, 2, 3, 4
  std::vector<Score> scores;         ///< what was not scored is left out
  std::optional<std::size_t> key;    ///< which of the raters is the reference key
};

/// Scores that are fit to be analyzed: every place exists, levels ascend. Sorted by case, rater, item.
/// Any number of scores is allowed, none included, and the same case, rater and item may occur twice.
class Ratings {
 public:
  /// Errors: invalid, naming the score (counted from 1) or the level at fault.
  static Result<Ratings> from(Contents contents);

  const std::vector<std::string>& cases() const { return contents_.cases; }
  const std::vector<std::string>& raters() const { return contents_.raters; }
  const std::vector<std::string>& items() const { return contents_.items; }
  std::span<const double> level_points() const { return contents_.level_points; }
  std::span<const Score> scores() const { return contents_.scores; }
  std::optional<std::size_t> key() const { return contents_.key; }

 private:
  explicit Ratings(Contents contents) : contents_(std::move(contents)) {}
  Contents contents_;
};

}  // namespace evenhand::severity
