#include "instrument/observation.hpp"

#include <cmath>

#include <fmt/format.h>

#include "document/decimal.hpp"
#include "instrument/names.hpp"

namespace evenhand::instrument {

std::optional<std::size_t> value_named(const Observation& observation, std::string_view id) {
  for (std::size_t i = 0; i < observation.values.size(); ++i)
    if (observation.values[i].id == id) return i;
  return std::nullopt;
}

std::string number_words(const Observation& observation, double number) {
  // A hundredth of what watch or ruler shows: finer digits come from units and means and tell nothing.
  const double parts = observation.resolution > 0.0 ? std::round(100.0 / observation.resolution) : 1e9;
  const double shown = std::round(number * parts) / parts;
  const std::string text = fmt::format("{:.15g}", shown == 0.0 ? 0.0 : shown);
  const auto symbol = document::unit_symbol(observation.unit);
  return symbol.empty() ? text : fmt::format("{} {}", text, symbol);
}

std::string number_said(const Observation& observation, double number) {
  const std::string text = number_words(observation, number);
  if (observation.unit != document::Unit::inch || number == 0.0) return text;
  return fmt::format("{} ({:.15g} cm)", text, std::round(number * 25.4) / 10);
}

std::string value_words(const Observation& observation, double value) {
  if (!observation.is_number()) return observation.values[static_cast<std::size_t>(value)].words;
  const std::string number = number_said(observation, value);
  const std::string& words = observation.words;
  if (const auto hole = words.find("{}"); hole != std::string::npos)
    return words.substr(0, hole) + number + words.substr(hole + 2);
  return fmt::format("{} {}", words, number);
}

namespace {

Result<double> read_fact(const Observation& observation, std::string_view text) {
  if (const auto place = value_named(observation, text)) return static_cast<double>(*place);
  return fail(Errc::invalid, "`{}` is no value of `{}`; {}", text, observation.id,
              offer(text, ids_of(observation.values)));
}

Result<double> check_domain(const Observation& observation, double number) {
  if (number < observation.from || number > observation.to)
    return fail(Errc::invalid, "`{}` of {} is not believed; it lies between {} and {}", observation.id,
                number_words(observation, number), number_words(observation, observation.from),
                number_words(observation, observation.to));
  if (observation.kind == Kind::count && number != std::floor(number))
    return fail(Errc::invalid, "`{}` is counted; {} is no whole number", observation.id,
                number_words(observation, number));
  return number;
}

}  // namespace

Result<double> read_value(const Observation& observation, std::string_view text, BareNumbers bare) {
  if (!observation.is_number()) return read_fact(observation, text);
  std::string with_point;
  if (bare == BareNumbers::taken) {
    auto typed = document::with_decimal_point(text);
    if (!typed) return fail(Errc::invalid, "`{}`: {}", observation.id, typed.error().message);
    with_point = std::move(*typed);
    text = with_point;
  }
  auto number = document::parse_quantity(text, observation.unit);
  if (!number && bare == BareNumbers::taken) {
    if (const auto plain = document::parse_quantity(text, document::Unit::none)) number = plain;
  }
  if (!number) return fail(Errc::invalid, "`{}`: {}", observation.id, number.error().message);
  return check_domain(observation, *number);
}

}  // namespace evenhand::instrument
