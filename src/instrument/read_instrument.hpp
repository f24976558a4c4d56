#pragma once

#include <optional>
#include <string_view>

#include "document/fault.hpp"
#include "document/value.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::instrument {

/// Reads an instrument file (`format: evenhand/instrument-1`).
///
/// faults  receives everything that is wrong, each with line, column and what would be right.
/// returns Nothing when anything was wrong. What the criteria and rulings do together is not checked here:
///         see audit.hpp.
std::optional<Instrument> read_instrument(std::string_view bytes, std::string_view name,
                                          document::Faults& faults);
/// The same from a tree that was read already.
std::optional<Instrument> read_instrument(const document::Value& value, document::Faults& faults);

}  // namespace evenhand::instrument
