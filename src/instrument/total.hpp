#pragma once

#include <optional>
#include <span>

#include "instrument/instrument.hpp"

namespace evenhand::instrument {

/// The sum over the items that have a score. What was not tested, refused, ... is no 0: it is left out, and
/// the total says over how many items it is.
struct Total {
  double points = 0.0;
  double maximum = 0.0;  ///< of the items that are in it
  std::size_t items = 0;
  std::size_t of = 0;  ///< items of the instrument
  bool complete() const { return items == of; }
};

/// levels   parallel to the instrument's items; nothing where there is no score
/// returns  nothing when the instrument has no total, or labels that are no numbers
std::optional<Total> total(const Instrument& instrument, std::span<const std::optional<std::size_t>> levels);

}  // namespace evenhand::instrument
