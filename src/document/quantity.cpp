#include "document/quantity.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>

#include <fmt/format.h>

#include "document/decimal.hpp"
#include "document/quote.hpp"

namespace evenhand::document {
namespace {

enum class Dimension { none, time, length, angle };

// `factor` turns a number in this unit into milliseconds, tenths of a millimeter or degrees:
// whole numbers, so that every conversion is one multiplication and one division.
struct Symbol {
  std::string_view text;
  Dimension dimension;
  double factor;
};

constexpr std::array symbols{
    Symbol{"ms", Dimension::time, 1},          Symbol{"s", Dimension::time, 1000},
    Symbol{"sec", Dimension::time, 1000},      Symbol{"second", Dimension::time, 1000},
    Symbol{"seconds", Dimension::time, 1000},  Symbol{"min", Dimension::time, 60'000},
    Symbol{"minute", Dimension::time, 60'000}, Symbol{"minutes", Dimension::time, 60'000},
    Symbol{"mm", Dimension::length, 10},       Symbol{"millimeter", Dimension::length, 10},
    Symbol{"cm", Dimension::length, 100},      Symbol{"millimeters", Dimension::length, 10},
    Symbol{"in", Dimension::length, 254},      Symbol{"centimeter", Dimension::length, 100},
    Symbol{"inch", Dimension::length, 254},    Symbol{"centimeters", Dimension::length, 100},
    Symbol{"inches", Dimension::length, 254},  Symbol{"m", Dimension::length, 10'000},
    Symbol{"ft", Dimension::length, 3048},     Symbol{"meter", Dimension::length, 10'000},
    Symbol{"foot", Dimension::length, 3048},   Symbol{"meters", Dimension::length, 10'000},
    Symbol{"feet", Dimension::length, 3048},   Symbol{"deg", Dimension::angle, 1},
    Symbol{"degree", Dimension::angle, 1},     Symbol{"degrees", Dimension::angle, 1},
    Symbol{"\u00B0", Dimension::angle, 1},
};

struct Wanted {
  Dimension dimension;
  double factor;
  std::string_view symbol;
  std::string_view name;
  std::string_view kind;     // "a time"
  std::string_view allowed;  // "s, min or ms"
};

constexpr Wanted wanted(Unit unit) {
  switch (unit) {
    case Unit::second:
      return {Dimension::time, 1000, "s", "seconds", "a time", "`s`, `min` or `ms`"};
    case Unit::centimeter:
      return {Dimension::length, 100, "cm", "centimeters", "a length", "`cm`, `mm`, `m`, `in` or `ft`"};
    case Unit::inch:
      return {Dimension::length, 254, "in", "inches", "a length", "`in`, `ft`, `cm`, `mm` or `m`"};
    case Unit::degree:
      return {Dimension::angle, 1, "deg", "degrees", "an angle", "`deg`"};
    case Unit::none:
      break;
  }
  return {Dimension::none, 1, "", "no unit", "a bare number", ""};
}

std::string_view kind_of(Dimension dimension) {
  switch (dimension) {
    case Dimension::time:
      return "a time";
    case Dimension::length:
      return "a length";
    case Dimension::angle:
      return "an angle";
    case Dimension::none:
      break;
  }
  return "a bare number";
}

std::string_view trim(std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return text;
}

tl::unexpected<QuantityFault> fault(std::string what, std::string mend) {
  return tl::unexpected<QuantityFault>(QuantityFault{std::move(what), std::move(mend)});
}

std::string example(const Wanted& want) {
  if (want.dimension == Dimension::none) return "write a plain number without a unit, such as `3`";
  return fmt::format("write a number and its unit, such as `{} {}`",
                     want.dimension == Dimension::time ? 30 : 10, want.symbol);
}

}  // namespace

std::string_view unit_symbol(Unit unit) { return wanted(unit).symbol; }
std::string_view unit_name(Unit unit) { return wanted(unit).name; }

tl::expected<double, QuantityFault> parse_quantity_parts(std::string_view text, Unit unit) {
  const Wanted want = wanted(unit);
  text = trim(text);
  const std::string_view digits =
      text.substr(0, std::min(text.find_first_not_of("+-.0123456789"), text.size()));
  const std::string_view unit_text = trim(text.substr(digits.size()));
  const auto number = plain_decimal(digits);
  if (!number) return fault(fmt::format("{} does not begin with a plain number", quote(text)), example(want));
  double value = *number;
  if (unit_text.empty()) {
    if (want.dimension != Dimension::none)
      return fault(fmt::format("{} has no unit", quote(text)),
                   fmt::format("write `{} {}` if {} are meant", digits, want.symbol, want.name));
  } else {
    const auto* symbol =
        std::find_if(symbols.begin(), symbols.end(), [&](const Symbol& s) { return s.text == unit_text; });
    if (symbol == symbols.end())
      return fault(fmt::format("{} has the unknown unit {}", quote(text), quote(unit_text)),
                   want.dimension == Dimension::none ? example(want) : fmt::format("write {}", want.allowed));
    if (symbol->dimension != want.dimension)
      return fault(
          fmt::format("{} is {} where {} is needed", quote(text), kind_of(symbol->dimension), want.kind),
          want.dimension == Dimension::none ? example(want) : fmt::format("write {}", want.allowed));
    value = value * symbol->factor / want.factor;
  }
  constexpr double most = 1e6;
  if (std::abs(value) > most)
    return fault(fmt::format("{} is beyond what can be meant", quote(text)),
                 fmt::format("write at most 1000000{}{}", want.symbol.empty() ? "" : " ", want.symbol));
  constexpr double steps = 1e9;
  return std::round(value * steps) / steps;
}

Result<double> parse_quantity(std::string_view text, Unit unit) {
  const auto value = parse_quantity_parts(text, unit);
  if (!value) return fail(Errc::invalid, "{}; {}", value.error().what, value.error().mend);
  return *value;
}

}  // namespace evenhand::document
