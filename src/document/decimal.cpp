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

bool has_leading_zero(std::string_view plain) {
  if (plain.starts_with('-')) plain.remove_prefix(1);
  return plain.size() > 1 && plain[0] == '0' && is_digit(plain[1]);
}

}  // namespace evenhand::document
