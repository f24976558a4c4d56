#pragma once

#include <cstddef>
#include <functional>
#include <string>

#include "agreement/estimate.hpp"

namespace evenhand::report {

// How numbers are written for people, everywhere the same: page, paper and terminal.

/// "83 %"; below 10 % and above 99 % with one decimal where a whole number would mislead: "99.6 %".
std::string percent(double share);
/// "0.83", with a real minus sign; "-0.00" is "0.00".
std::string decimal(double value, int places = 2);
/// "+0.12", "-0.40", "0.00".
std::string signed_decimal(double value, int places = 2);
/// "2,688".
std::string count(std::size_t n);
/// "1 case", "2 cases".
std::string count_of(std::size_t n, const char* one, const char* many);

/// " (0.74 to 0.92)", both limits written by the function; nothing without limits. " (no spread)" where they
/// are the same: then every case said the same, and they tell nothing of the error.
std::string limits_in_brackets(const agreement::Value& lower, const agreement::Value& upper,
                               const std::function<std::string(double)>& written);
inline constexpr const char* no_spread_seen = " (no spread)";

/// "83 % (80 to 86)"; without limits only the share; without a value a dash.
std::string percent_with_limits(const agreement::Value& share, const agreement::Value& lower,
                                const agreement::Value& upper);
/// "0.83 (0.74 to 0.92)".
std::string decimal_with_limits(const agreement::Value& value, const agreement::Value& lower,
                                const agreement::Value& upper, int places = 2);

/// The text, or its first characters and an ellipsis where it is longer than that: a long name would break a
/// table.
std::string shortened(const std::string& text, std::size_t most = 20);

/// What stands where a number has no value.
inline constexpr const char* no_value = "\u2013";

}  // namespace evenhand::report
