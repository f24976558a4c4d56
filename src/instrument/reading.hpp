#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "instrument/classify.hpp"
#include "instrument/observe.hpp"

namespace evenhand::instrument {

/// A trial that may count (practice trials are not handed in).
struct SeenTrial {
  std::size_t way = 0;  ///< place in the item's ways; 0 for items without
  Observed seen;
};

/// A condition of a better level that was not met.
struct Lack {
  Constraint constraint;
  double value = 0.0;      ///< what was seen
  double shortfall = 0.0;  ///< numbers: how far from the bound, in the observation's unit; facts: 0
};

/// The nearest way to the next better level: the clause with the fewest failed conditions, and of
/// those the one with the smallest shortfall. What was better than the clause asks is no failure. A clause
/// that is met already, where several levels describe the trial, is passed over.
struct NextLevel {
  std::size_t level = 0;
  std::vector<Lack> lacks;
};

/// What the criteria and rulings make of one trial (or of the mean of several).
struct TrialReading {
  std::size_t trial = 0;  ///< place among the trials handed in
  std::size_t way = 0;
  std::vector<double> values;  ///< parallel to the item's `observe`
  std::size_t cell = 0;
  CellKind kind = CellKind::settled;
  std::optional<std::size_t> level;  ///< nothing: nobody ruled on it, or the item is measured
  std::optional<double> number;      ///< measured items
  std::vector<std::size_t> rulings;  ///< places in Classification::rulings, the one that answered first
  std::optional<NextLevel> next;     ///< nothing at the best level
};

/// A number so near to a threshold that the error of watch or ruler could change the level.
struct Borderline {
  std::size_t observation = 0;  ///< place in the instrument's observations
  double value = 0.0;
  double threshold = 0.0;
  std::size_t other_level = 0;  ///< of the item, with the number on the other side
};

/// A mean in which numbers past the top threshold counted as the threshold.
struct Capped {
  std::size_t observation = 0;  ///< place in the instrument's observations
  double at = 0.0;
  bool all = false;  ///< every number lies past it: the one nearest to it stands for them
};

struct ItemReading {
  std::optional<std::size_t> level;   ///< place in the item's levels
  std::optional<double> number;       ///< measured items: the score
  std::string no_score_because;       ///< in words, when there is neither
  std::vector<TrialReading> trials;   ///< in the order handed in, those that were not needed left out
  std::size_t not_needed = 0;         ///< trials after a full score
  std::optional<std::size_t> counts;  ///< place in `trials` of the one that decides
  std::optional<TrialReading> mean;   ///< of all trials that count, where the rule averages
  std::size_t left_out_of_mean = 0;   ///< spoilt trials
  std::optional<Capped> capped;       ///< only where the rule averages
  std::optional<Borderline> borderline;

  /// The reading that the score follows from; null when there is no score.
  const TrialReading* deciding() const;
  /// Whether the score hangs on a ruling.
  bool gray() const;
};

/// Reads one trial.
TrialReading read_trial(const Scoring& scoring, std::size_t item, std::span<const double> values);

/// Applies the item's trial rule. Each trial is read for itself, and best is the best level, not the longest
/// time; of equals one that the criteria's words settle counts before one that a ruling settles, then the
/// first. Trials after one that reached the full score are not needed and do not
/// count.
///
/// Ways: the rule within each way first, then the worse (or better) of the ways. A way without a trial:
/// no score.
/// Mean: numbers are averaged unrounded, each at most at the top threshold; of facts the median counts
/// (of two the worse), of unordered facts the most frequent. Spoilt trials are left out at the rule's price.
/// Borderline: see the instrument's `error`; strictly between threshold - below and threshold + above. Items
/// that average look at the mean, all others at every trial that may count.
ItemReading read_item(const Scoring& scoring, std::size_t item, std::span<const SeenTrial> trials);

}  // namespace evenhand::instrument
