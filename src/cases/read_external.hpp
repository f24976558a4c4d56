#pragma once

#include "cases/case.hpp"
#include "document/fault.hpp"
#include "document/fields.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// Reads what a case file says of a case outside: `external` (`kind`, `find`, `minutes`, `consent`), `items`
/// (the ids of those it shows; absent: all), and `panel` (`members`, `key`, `agreement`), if there is one.
///
/// read    Gets `external`, one item for each of the instrument in order, and `reviewed_by`.
/// faults  A link in place of words; performances, keys or second readers of its own; items unknown or twice;
/// a
///         panel of fewer than two; a key of the panel for an item that the case does not show, or that is no
///         score of the item; an agreement of more than was compared.
void read_external(document::Fields& fields, const instrument::Instrument& instrument, Case& read,
                   document::Faults& faults);

}  // namespace evenhand::cases
