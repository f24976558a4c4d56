#include "document/quantity.hpp"

#include <string>

#include <catch2/catch.hpp>

using evenhand::document::parse_quantity;
using evenhand::document::Unit;
using evenhand::document::unit_name;
using evenhand::document::unit_symbol;

namespace {

double value(std::string_view text, Unit unit) {
  const auto result = parse_quantity(text, unit);
  INFO(text);
  REQUIRE(result.has_value());
  return *result;
}

std::string fault(std::string_view text, Unit unit) {
  const auto result = parse_quantity(text, unit);
  return result ? "no fault" : result.error().message;
}

}  // namespace

TEST_CASE("quantities convert to the bit", "[reference]") {
  // 1 in = 25.4 mm and 1 ft = 0.3048 m exactly: NIST SP 811 (2008), appendix B.8.
  CHECK(value("25.4 cm", Unit::inch) == 10.0);
  CHECK(value("12.7 cm", Unit::inch) == 5.0);
  CHECK(value("139.7 cm", Unit::inch) == 55.0);  // 139.7 * 100 / 254 is 54.99999999999999 in doubles
  CHECK(value("0.7 in", Unit::centimeter) == 1.778);
  CHECK(value("0.27 min", Unit::second) == 16.2);
  CHECK(value("10 in", Unit::centimeter) == 25.4);
  CHECK(value("0.1 in", Unit::centimeter) == 0.254);
  CHECK(value("1 ft", Unit::centimeter) == 30.48);
  CHECK(value("1 ft", Unit::inch) == 12.0);
  CHECK(value("12 mm", Unit::centimeter) == 1.2);
  CHECK(value("0.3 m", Unit::centimeter) == 30.0);
  CHECK(value("1.5 min", Unit::second) == 90.0);
  CHECK(value("1500 ms", Unit::second) == 1.5);
  CHECK(value("0.1 s", Unit::second) == 0.1);
  CHECK(value("90 deg", Unit::degree) == 90.0);
}

TEST_CASE("units may be spelled out and the blank left out") {
  CHECK(value("30s", Unit::second) == 30.0);
  CHECK(value("  30   seconds ", Unit::second) == 30.0);
  CHECK(value("1 minute", Unit::second) == 60.0);
  CHECK(value("2 inches", Unit::inch) == 2.0);
  CHECK(value("-5 deg", Unit::degree) == -5.0);
  CHECK(value("45\u00B0", Unit::degree) == 45.0);
  CHECK(value("3", Unit::none) == 3.0);
}

TEST_CASE("what is no quantity is refused with what would be right", "[edge]") {
  CHECK(fault("30", Unit::second) == "`30` has no unit; write `30 s` if seconds are meant");
  CHECK(fault("10", Unit::inch) == "`10` has no unit; write `10 in` if inches are meant");
  CHECK(fault("30 cm", Unit::second) ==
        "`30 cm` is a length where a time is needed; write `s`, `min` or `ms`");
  CHECK(fault("30 s", Unit::degree) == "`30 s` is a time where an angle is needed; write `deg`");
  CHECK(fault("30 h", Unit::second) == "`30 h` has the unknown unit `h`; write `s`, `min` or `ms`");
  CHECK(fault("30 S", Unit::second) == "`30 S` has the unknown unit `S`; write `s`, `min` or `ms`");
  CHECK(fault("3 s", Unit::none) ==
        "`3 s` is a time where a bare number is needed; write a plain number without a unit, such as `3`");
  CHECK(fault("soon", Unit::second) ==
        "`soon` does not begin with a plain number; write a number and its unit, such as `30 s`");
  CHECK(fault("2000000 s", Unit::second) ==
        "`2000000 s` is beyond what can be meant; write at most 1000000 s");
  for (const auto* text : {"", "s", "1e3 s", "1,5 s", "+3 s", ".5 s", "5. s", "1 2 s", "--1 s", "nan s",
                           "inf s", "0x1 s", "1 s s", "1:30"})
    CHECK(fault(text, Unit::second) != "no fault");
  CHECK(fault(std::string(400, '9') + " s", Unit::second) != "no fault");
}

TEST_CASE("a million is the most in the unit that is wanted", "[edge]") {
  CHECK(value("1000000 s", Unit::second) == 1e6);
  CHECK(fault("1000000 min", Unit::second) != "no fault");
  CHECK(fault("-1000001 s", Unit::second) != "no fault");
}

TEST_CASE("units have a symbol and a name") {
  CHECK(unit_symbol(Unit::inch) == "in");
  CHECK(unit_name(Unit::degree) == "degrees");
  CHECK(unit_symbol(Unit::none).empty());
}
