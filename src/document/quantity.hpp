#pragma once

#include <string>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::document {

/// The unit a reader wants. Texts may use another unit of the same kind.
enum class Unit { second, centimeter, inch, degree, none };

/// The unit as files write it: "s", "cm", "in", "deg"; empty for none.
std::string_view unit_symbol(Unit unit);
/// The unit in words, plural: "seconds", "centimeters", "inches", "degrees"; "no unit".
std::string_view unit_name(Unit unit);

/// Why a text is no quantity: what is wrong and what would be right.
struct QuantityFault {
  std::string what;
  std::string mend;
};

/// Reads a plain decimal number with its unit, converted to `unit`: `30 s`, `1.5 min`,
/// `10 in`, `25.4 cm`, `12 mm`, `90 deg`; the blank may be missing.
///
/// Times: ms, s, sec, second(s), min, minute(s). Lengths: mm, cm, m, in, inch(es), ft,
/// foot, feet, and centimeter(s), millimeter(s), meter(s). Angles: deg, degree(s), °.
/// Unit::none wants a bare number. 1 in = 2.54 cm exactly (international yard and pound
/// agreement of 1959; NIST SP 811, B.8). The result is rounded to 1e-9, so that
/// 25.4 cm is 10 in and 12.7 cm is 5 in to the bit.
///
/// errors  invalid: no number, no unit (saying which to write), a unit of another kind
///         (naming the right ones), or beyond 1e6 in absolute value. The sign is free.
Result<double> parse_quantity(std::string_view text, Unit unit);

/// The same with the two halves of the message apart.
tl::expected<double, QuantityFault> parse_quantity_parts(std::string_view text, Unit unit);

}  // namespace evenhand::document
