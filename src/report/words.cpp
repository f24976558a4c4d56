#include "report/words.hpp"

#include <cmath>

#include <fmt/core.h>

namespace evenhand::report {
namespace {

constexpr const char* minus = "\u2212";

std::string with_sign(double value, int places, bool plus) {
  std::string digits = fmt::format("{:.{}f}", std::abs(value), places);
  const bool zero = digits.find_first_not_of("0.") == std::string::npos;
  if (zero) return digits;
  return fmt::format("{}{}", value < 0 ? minus : plus ? "+" : "", digits);
}

/// Percent without its sign, for use inside limits.
std::string percent_digits(double share) {
  // A limit may lie where no share can. For people it is shown at the end of the line; the data have it as
  // computed.
  if (share > 1.0) return "100";
  if (share < 0.0) return "0";
  const double points = 100.0 * share;
  const bool near_an_end = (points > 0.0 && points < 1.0) || (points > 99.0 && points < 100.0);
  std::string digits = with_sign(points, near_an_end ? 1 : 0, false);
  // 99.97 % is not 100 %.
  if (points < 100.0 && digits == "100.0") digits = "99.9";
  if (points > 0.0 && digits == "0.0") digits = "0.1";
  return digits;
}

}  // namespace

std::string percent(double share) { return percent_digits(share) + " %"; }

std::string decimal(double value, int places) { return with_sign(value, places, false); }

std::string signed_decimal(double value, int places) { return with_sign(value, places, true); }

std::string count(std::size_t n) {
  std::string digits = std::to_string(n);
  for (std::size_t i = digits.size(); i > 3; i -= 3) digits.insert(i - 3, ",");
  return digits;
}

std::string count_of(std::size_t n, const char* one, const char* many) {
  return count(n) + " " + (n == 1 ? one : many);
}

std::string limits_in_brackets(const agreement::Value& lower, const agreement::Value& upper,
                               const std::function<std::string(double)>& written) {
  if (!lower || !upper) return "";
  if (agreement::fall_together(*lower, *upper)) return no_spread_seen;
  return fmt::format(" ({} to {})", written(*lower), written(*upper));
}

std::string percent_with_limits(const agreement::Value& share, const agreement::Value& lower,
                                const agreement::Value& upper) {
  if (!share) return no_value;
  return percent(*share) + limits_in_brackets(lower, upper, percent_digits);
}

std::string decimal_with_limits(const agreement::Value& value, const agreement::Value& lower,
                                const agreement::Value& upper, int places) {
  if (!value) return no_value;
  return decimal(*value, places) +
         limits_in_brackets(lower, upper, [&](double limit) { return decimal(limit, places); });
}

std::string shortened(const std::string& text, std::size_t most) {
  const auto begins_character = [](char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; };
  std::size_t characters = 0, cut = text.size();
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (!begins_character(text[i])) continue;
    if (++characters == most) cut = i;  // the place of the ellipsis
    if (characters > most) return text.substr(0, cut) + "\u2026";
  }
  return text;
}

}  // namespace evenhand::report
