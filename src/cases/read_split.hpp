#pragma once

#include "cases/case.hpp"
#include "document/fault.hpp"
#include "document/fields.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// Reads `readers_split`: the items to which second readers did not all give the key. They serve practice
/// only.
///
/// read    has its items and `reviewed_by`; the items named are marked
/// faults  items that the instrument lacks (with the nearest), one named twice, one without a score, and any
///         where nobody has read the case
void read_split(document::Fields& fields, const instrument::Instrument& instrument, Case& read,
                document::Faults& faults);

}  // namespace evenhand::cases
