#pragma once

#include <optional>

#include "document/fields.hpp"
#include "instrument/instrument.hpp"
#include "instrument/read_condition.hpp"

namespace evenhand::instrument {

/// One entry of an instrument's `items`. `scope` names all observations of the instrument and which of them
/// are sound; the item's own scope follows from its `observe`.
Item read_item(const document::Value& value, const Scope& scope, bool high_is_better,
               document::Faults& faults);

/// The optional `records` of an item or an instrument.
std::vector<Record> read_records(document::Fields& fields, document::Faults& faults);

/// An item's `derive`: how its observations follow from a timeline.
std::vector<Derivation> read_derive(const document::Value& value, const Scope& scope,
                                    document::Faults& faults);

}  // namespace evenhand::instrument
