#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/id.hpp"
#include "cases/case.hpp"
#include "cases/case_set.hpp"
#include "cases/library.hpp"
#include "instrument/classify.hpp"

namespace evenhand::cases {

/// How trials stand to one threshold of one item. A trial is near when it lies within a quarter of the
/// threshold, for counts within one step if that is more.
struct ThresholdCoverage {
  std::size_t observation = 0;  ///< place in the instrument's observations
  double at = 0.0;
  std::size_t near_below = 0;           ///< trials that may count, near the threshold and below it
  std::size_t near_above = 0;           ///< ... and above it
  std::optional<double> nearest_below;  ///< of all trials that may count
  std::optional<double> nearest_above;

  bool from_both_sides() const { return near_below > 0 && near_above > 0; }
};

/// How often a ruling decides, itself or in a chain.
struct RulingCoverage {
  std::size_t ruling = 0;  ///< place in the item's Classification::rulings
  std::size_t trials = 0;  ///< trials that may count whose level follows from it
};

struct ItemCoverage {
  std::size_t item = 0;
  std::vector<std::size_t> levels;  ///< cases by level, parallel to the item's levels; skip rule left out
  std::size_t skipped = 0;          ///< cases in which the skip rule fills it
  std::size_t without_score = 0;    ///< cases with a status, or without a key
  std::size_t borderline = 0;       ///< cases so near to a threshold that they decide about nobody
  std::size_t gray = 0;             ///< cases whose key hangs on a ruling
  std::vector<ThresholdCoverage> thresholds;
  std::vector<RulingCoverage> rulings;  ///< those that decide any situation of the item, used or not

  // Cases outside are counted apart, and in none of the above: nothing of them can be observed here.
  std::vector<std::size_t> panel_levels;  ///< by the level that a panel gave, parallel to the item's levels
  std::size_t panel_without = 0;          ///< shown, and the panel gave no level, or there was none
};

/// What some cases exercise of an instrument.
struct Coverage {
  std::size_t cases = 0;            ///< those outside left out
  std::size_t outside = 0;          ///< films and live children
  std::vector<ItemCoverage> items;  ///< in the order of the instrument's items
};

/// A case and which of its items are meant; no items: all.
struct Covered {
  const Case* the_case = nullptr;
  std::vector<ItemId> items;
};

/// Keys are worked out under the scoring's rulings.
Coverage coverage_of(std::span<const Covered> cases, const instrument::Scoring& scoring);

/// All cases of an instrument in the library, under the rulings in force. Precondition: the library
/// has the instrument.
Coverage coverage_of(const Library& library, const InstrumentId& instrument);
/// The cases and items of a set.
Coverage coverage_of(const Library& library, const CaseSet& set);

/// Tables for a terminal: items by levels, then thresholds, then rulings, with what is missing said.
std::string to_text(const Coverage& coverage, const instrument::Scoring& scoring);

}  // namespace evenhand::cases
