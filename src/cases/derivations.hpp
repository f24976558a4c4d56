#pragma once

#include "cases/vocabulary.hpp"
#include "document/fault.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// Adds a fault for each moment that an item's `derive` names and the vocabulary does not
/// know, at the item, with the nearest word that it knows. A `pose_at` map takes poses only.
void check_derivations(const instrument::Instrument& instrument, const Vocabulary& vocabulary,
                       document::Faults& faults);

}  // namespace evenhand::cases
