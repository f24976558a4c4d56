#pragma once

#include <optional>
#include <string_view>

#include "competency/standard.hpp"
#include "document/fault.hpp"

namespace evenhand::competency {

/// Reads `format: evenhand/standard-1` (JSON Schema: cases/instruments/schema/standard-1.schema.json).
/// Every number must be stated: a standard that leaves a choice open is none.
///
/// name     the file's name, for the locations of faults
/// returns  nothing when there is any fault: an unknown or missing key, a share outside [0, 1],
///          looks or levels that do not ascend, a level not above one half, `competent` that does not lie
///          above `not_acceptable`, or above what the key panel reaches itself.
std::optional<Standard> read_standard(std::string_view text, std::string_view name, document::Faults& faults);

}  // namespace evenhand::competency
