#pragma once

#include "instrument/instrument.hpp"

namespace evenhand::instrument {

/// Whether a therapist has held the item's criteria against the printed form. Whatever else they rest on
/// (a rendering of the publication, common practice, memory) is not that yet.
inline bool held_against_form(const Item& item) { return item.confirmed.how == "printed-form"; }

}  // namespace evenhand::instrument
