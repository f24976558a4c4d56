#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::document {

/// A number in plain decimals, `-?digits[.digits]`, nothing else: no sign +, exponent,
/// blank, hexadecimal, infinity or NaN. Nothing also when it is too large for a double.
std::optional<double> plain_decimal(std::string_view text);

/// The same text with a decimal point where a person wrote a decimal comma: `3,5 s` becomes `3.5 s`. A text
/// without a comma comes back as it is.
/// Errors: invalid  the comma may part thousands (`1,234`), or there is more than one mark (`1.234,5`)
Result<std::string> with_decimal_point(std::string_view text);

/// Whether a plain decimal has a needless zero in front, as in `010`, which some programs
/// read as octal.
bool has_leading_zero(std::string_view plain);

}  // namespace evenhand::document
