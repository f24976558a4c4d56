#include <algorithm>
#include <charconv>
#include <cstddef>
#include <string>
#include <system_error>

#include <fmt/format.h>

#include "base/nearest.hpp"
#include "document/decimal.hpp"
#include "document/fields.hpp"
#include "document/quote.hpp"

namespace evenhand::document {
namespace {

// Whether the value is a filled scalar; adds the fault, with `wanted` as the mend, when it is not.
bool is_filled_scalar(const Value& value, std::string_view name, std::string_view wanted, Faults& faults) {
  if (value.is_scalar() && !value.is_null()) return true;
  faults.add(value.at(), fmt::format("{} is {}", name, value.is_null() ? "empty" : kind_name(value)),
             std::string(wanted));
  return false;
}

// The same for values that must not stand in quotes.
bool is_plain(const Value& value, std::string_view name, std::string_view wanted, Faults& faults) {
  if (!is_filled_scalar(value, name, wanted, faults)) return false;
  if (!value.quoted()) return true;
  faults.add(value.at(), fmt::format("{} is text in quotes", name), fmt::format("{} without quotes", wanted));
  return false;
}

template <class T>
bool is_within(T number, Range<T> range, const Value& value, std::string_view name, Faults& faults) {
  if (number >= range.least && number <= range.most) return true;
  std::string mend;
  if (range.least == std::numeric_limits<T>::lowest())
    mend = fmt::format("write at most {}", range.most);
  else if (range.most == std::numeric_limits<T>::max())
    mend = fmt::format("write at least {}", range.least);
  else
    mend = fmt::format("write a number from {} to {}", range.least, range.most);
  faults.add(value.at(), fmt::format("{} is {}, which is out of range", name, number), std::move(mend));
  return false;
}

bool is_identifier(std::string_view text) {
  constexpr std::size_t longest = 64;
  const auto plain = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'); };
  return !text.empty() && text.size() <= longest && plain(text.front()) && plain(text.back()) &&
         text.find("--") == std::string_view::npos &&
         std::all_of(text.begin(), text.end(), [&](char c) { return plain(c) || c == '-'; });
}

// `010` without its zeros: `10`.
std::string without_leading_zeros(std::string_view text) {
  std::string out;
  if (text.starts_with('-')) {
    out = "-";
    text.remove_prefix(1);
  }
  while (has_leading_zero(text)) text.remove_prefix(1);
  return out.append(text);
}

bool has_plain_zeros(const Value& value, std::string_view name, Faults& faults) {
  if (!has_leading_zero(value.text())) return true;
  faults.add(value.at(),
             fmt::format("{} is {}, which some programs read as octal", name, quote(value.text())),
             fmt::format("write `{}`", without_leading_zeros(value.text())));
  return false;
}

}  // namespace

std::optional<std::string> read_text(const Value& value, std::string_view name, Faults& faults) {
  if (!is_filled_scalar(value, name, "write a text", faults)) return std::nullopt;
  if (value.text().find_first_not_of(" \t\r\n") == std::string::npos) {
    faults.add(value.at(), fmt::format("{} is an empty text", name), "write a text");
    return std::nullopt;
  }
  return value.text();
}

std::optional<std::string> read_identifier(const Value& value, std::string_view name, Faults& faults) {
  constexpr std::string_view wanted =
      "write lower-case letters, digits and hyphens, such as `stand-on-one-leg`";
  if (!is_filled_scalar(value, name, wanted, faults)) return std::nullopt;
  if (is_identifier(value.text())) return value.text();
  faults.add(value.at(), fmt::format("{} is {}, which is no identifier", name, quote(value.text())),
             std::string(wanted));
  return std::nullopt;
}

std::optional<std::int64_t> read_integer(const Value& value, std::string_view name, Faults& faults,
                                         Range<std::int64_t> range) {
  constexpr std::string_view wanted = "write a whole number such as `4`";
  if (!is_plain(value, name, wanted, faults)) return std::nullopt;
  const std::string& text = value.text();
  std::int64_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error == std::errc::invalid_argument || end != text.data() + text.size()) {
    faults.add(value.at(), fmt::format("{} is {}, which is no whole number", name, quote(text)),
               std::string(wanted));
    return std::nullopt;
  }
  if (error != std::errc{}) {
    faults.add(value.at(), fmt::format("{} is {}, which is too large", name, quote(text)),
               std::string(wanted));
    return std::nullopt;
  }
  if (!has_plain_zeros(value, name, faults) || !is_within(number, range, value, name, faults))
    return std::nullopt;
  return number;
}

std::optional<double> read_number(const Value& value, std::string_view name, Faults& faults,
                                  Range<double> range) {
  constexpr std::string_view wanted = "write a plain decimal number such as `0.5`";
  if (!is_plain(value, name, wanted, faults)) return std::nullopt;
  const auto number = plain_decimal(value.text());
  if (!number) {
    faults.add(value.at(), fmt::format("{} is {}, which is no plain number", name, quote(value.text())),
               std::string(wanted));
    return std::nullopt;
  }
  if (!has_plain_zeros(value, name, faults) || !is_within(*number, range, value, name, faults))
    return std::nullopt;
  return number;
}

std::optional<bool> read_yes_no(const Value& value, std::string_view name, Faults& faults) {
  constexpr std::string_view wanted = "write `yes` or `no`";
  if (!is_plain(value, name, wanted, faults)) return std::nullopt;
  const std::string& text = value.text();
  if (text == "yes" || text == "true") return true;
  if (text == "no" || text == "false") return false;
  faults.add(value.at(), fmt::format("{} is {}", name, quote(text)), std::string(wanted));
  return std::nullopt;
}

std::optional<double> read_quantity(const Value& value, std::string_view name, Unit unit, Faults& faults) {
  const std::string wanted =
      unit == Unit::none ? std::string("write a plain number without a unit")
                         : fmt::format("write a number and its unit, such as `10 {}`", unit_symbol(unit));
  if (!is_filled_scalar(value, name, wanted, faults)) return std::nullopt;
  const auto number = parse_quantity_parts(value.text(), unit);
  if (number) return *number;
  faults.add(value.at(), fmt::format("{}: {}", name, number.error().what), number.error().mend);
  return std::nullopt;
}

std::optional<double> read_quantity(const Value& value, Unit unit, Faults& faults) {
  return read_quantity(value, "the value", unit, faults);
}

std::optional<std::size_t> read_choice(const Value& value, std::string_view name,
                                       std::span<const std::string> words, Faults& faults) {
  std::string wanted = "write ";
  for (std::size_t i = 0; i < words.size(); ++i)
    wanted += (i == 0 ? "" : i + 1 == words.size() ? " or " : ", ") + fmt::format("`{}`", words[i]);
  if (!is_filled_scalar(value, name, wanted, faults)) return std::nullopt;
  const auto found = std::find(words.begin(), words.end(), value.text());
  if (found != words.end()) return static_cast<std::size_t>(found - words.begin());
  const auto near = base::nearest(value.text(), words);
  faults.add(value.at(), fmt::format("{} is {}", name, quote(value.text())),
             near ? fmt::format("did you mean `{}`? {}", *near, wanted) : wanted);
  return std::nullopt;
}

}  // namespace evenhand::document
