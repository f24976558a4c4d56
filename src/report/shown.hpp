#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "report/calibration.hpp"

namespace evenhand::report {

/// The levels given to one case-item, or in one gray zone, as a reader may see them.
struct ShownLevels {
  bool counted = false;              ///< how often each was given, and what follows from it, may be shown
  std::vector<std::size_t> given{};  ///< lowest first; empty: not even these may be shown
  std::optional<std::size_t> commonest{};  ///< of levels given equally often, the lowest
};

/// What one reader may see of a calibration. Who may see names sees all. For who may not, a number that
/// speaks of fewer than `least_cell` raters or scores is left out, and so is every number from which it could
/// be worked out:
///
/// - fewer raters than that in the round: nothing but how many took part (each could subtract their own);
/// - a level given by few: of that case-item neither counts nor what is made of them, only the levels and
///   the commonest, and not even these where they leave a single way to divide the raters;
/// - an item whose misses, less those that the case-items shown already tell, are few; one more item with
///   it where the total of all items would give it away;
/// - a total of the key behind which few raters may stand, and one more where the mean of all would;
/// - an item that few raters scored: what is said of it is said of them;
/// - what changed from one round to the next where few scored in both, and how many were flagged there.
///
/// How many of five or more raters were flagged is told: it names nobody.
class Shown {
 public:
  Shown(const calibration::Calibration& of, Reader reader);

  bool names() const { return names_; }
  bool only_how_many() const { return !names_ && of_.small_group; }
  ShownLevels point(const calibration::AgendaPoint& point) const;
  /// A zone's counts only where those of all its cases are shown: else the rest would follow.
  ShownLevels zone(const calibration::GrayZone& zone) const;
  /// Place in Calibration::items.
  bool item(std::size_t place) const { return items_[place]; }
  /// Numbers of one item that tell of the others.
  bool all_items() const;
  /// Place in TotalDifferences::by_total.
  bool total(std::size_t place) const { return totals_[place]; }
  bool round(const calibration::RoundPoint& round) const;
  /// What changed since the round before.
  bool change() const;
  /// How many of the raters of a round were flagged for a change from the one before it.
  bool flagged(const calibration::RoundPoint& round) const;

 private:
  bool few(std::size_t n) const { return n > 0 && n < of_.options.least_cell; }
  void leave_out_items();
  void leave_out_totals();

  const calibration::Calibration& of_;
  bool names_;
  std::vector<bool> items_, totals_;
};

}  // namespace evenhand::report
