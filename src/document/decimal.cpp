#include "document/decimal.hpp"

#include <charconv>
#include <cstddef>
#include <system_error>

namespace evenhand::document {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

// The length of the run of digits at the start.
std::size_t digits(std::string_view text) {
  std::size_t n = 0;
  while (n < text.size() && is_digit(text[n])) ++n;
  return n;
}

}  // namespace

std::optional<double> plain_decimal(std::string_view text) {
  std::string_view rest = text;
  if (rest.starts_with('-')) rest.remove_prefix(1);
  const std::size_t whole = digits(rest);
  if (whole == 0) return std::nullopt;
  rest.remove_prefix(whole);
  if (!rest.empty()) {
    if (rest.front() != '.') return std::nullopt;
    rest.remove_prefix(1);
    if (rest.empty() || digits(rest) != rest.size()) return std::nullopt;
  }
  double value = 0.0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

Result<std::string> with_decimal_point(std::string_view text) {
  const std::size_t comma = text.find(',');
  if (comma == std::string_view::npos) return std::string(text);
  const std::string_view whole = text.substr(0, comma);
  const std::size_t whole_digits = digits(whole.substr(whole.starts_with('-') ? 1 : 0));
  const std::size_t fraction = digits(text.substr(comma + 1));
  const bool one_mark = text.find_first_of(",.", comma + 1) == std::string_view::npos;
  if (!one_mark || fraction == 0 || whole_digits == 0 || whole_digits + whole.starts_with('-') != comma)
    return fail(Errc::invalid, "`{}` is no number; write one with at most one mark, such as 3.5", text);
  // `1,234` is one and a bit for some and more than a thousand for others; `0,250` is clear.
  if (fraction == 3 && whole_digits <= 3 && whole != "0" && whole != "-0") {
    const std::string_view thousandths = text.substr(comma + 1, fraction);
    return fail(Errc::invalid, "`{}` may be {}.{} or {}{}; write it without the comma", text, whole,
                thousandths, whole, thousandths);
  }
  return std::string(whole) + "." + std::string(text.substr(comma + 1));
}

bool has_leading_zero(std::string_view plain) {
  if (plain.starts_with('-')) plain.remove_prefix(1);
  return plain.size() > 1 && plain[0] == '0' && is_digit(plain[1]);
}

}  // namespace evenhand::document
