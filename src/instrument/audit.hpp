#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "document/fault.hpp"
#include "instrument/classify.hpp"

namespace evenhand::instrument {

/// Two neighboring cells of which the better performance gets the lower level.
struct Break {
  std::size_t item = 0;
  std::size_t worse = 0, better = 0;  ///< cells
  std::size_t axis = 0;               ///< the one they differ on
};

/// Where an item's levels, rulings included, do not follow performance: one better observation and all else
/// equal gives a lower level. Cells without a level are no break.
std::vector<Break> breaks_of(const Scoring& scoring, std::size_t item);

/// A cell in words: every axis that has more than one class.
std::string cell_words(const Scoring& scoring, std::size_t item, std::size_t cell);

/// Everything that is wrong with the rulings of an instrument and its departments, at the place of the
/// ruling or item at fault: rulings of one tier that contradict each other, that lead in a circle or to no
/// answer, that answer nothing, that say "settled" where the words do not; usual values that cannot be seen;
/// levels no performance reaches; levels that do not follow performance.
void audit(const Scoring& scoring, document::Faults& faults);

/// How much of an item the criteria leave open.
struct GrayShare {
  std::size_t possible = 0;  ///< cells that can be seen
  std::size_t open = 0;
  std::size_t several = 0;
  std::size_t unruled = 0;
};
GrayShare gray_share(const Classification& classification);

}  // namespace evenhand::instrument
