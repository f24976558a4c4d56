#pragma once

#include <optional>
#include <string_view>

namespace evenhand::document {

/// A number in plain decimals, `-?digits[.digits]`, nothing else: no sign +, exponent,
/// blank, hexadecimal, infinity or NaN. Nothing also when it is too large for a double.
std::optional<double> plain_decimal(std::string_view text);

/// Whether a plain decimal has a needless zero in front, as in `010`, which some programs
/// read as octal.
bool has_leading_zero(std::string_view plain);

}  // namespace evenhand::document
