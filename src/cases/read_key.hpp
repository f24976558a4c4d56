#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "cases/case.hpp"
#include "document/fault.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// The status of that name; nothing when there is none.
std::optional<Status> status_named(std::string_view text);

/// What an item scores, as files write it: one of its levels, or a number with its unit where it is measured.
///
/// at      where it stands
/// faults  no such level, with the nearest; a number that does not read
StatedKey read_score(const std::string& text, const instrument::Item& item,
                     const instrument::Instrument& instrument, const document::Location& at,
                     document::Faults& faults);

}  // namespace evenhand::cases
