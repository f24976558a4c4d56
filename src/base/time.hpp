#pragma once

#include <chrono>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::base {

/// A moment in UTC, to the millisecond.
using Time = std::chrono::sys_time<std::chrono::milliseconds>;

/// RFC 3339 in UTC: `2026-09-01T08:30:00Z`; milliseconds only when there are any.
std::string to_rfc3339(Time time);

/// The day in UTC: `2026-09-01` (ISO 8601).
std::string to_date(Time time);

/// Reads an RFC 3339 time with a zone; fractions past the millisecond are cut.
/// Errors: invalid, saying what an RFC 3339 time looks like.
Result<Time> parse_rfc3339(std::string_view text);

}  // namespace evenhand::base
