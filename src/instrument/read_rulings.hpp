#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "document/fault.hpp"
#include "document/value.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::instrument {

/// Reads a department's rulings (`format: evenhand/rulings-1`) about one of the known instruments.
///
/// faults  receives everything that is wrong, each with line, column and what would be right.
/// returns Nothing when anything was wrong.
std::optional<RulingFile> read_rulings(std::string_view bytes, std::string_view name,
                                       std::span<const Instrument> known, document::Faults& faults);
/// The same from a tree that was read already.
std::optional<RulingFile> read_rulings(const document::Value& value, std::span<const Instrument> known,
                                       document::Faults& faults);

}  // namespace evenhand::instrument
