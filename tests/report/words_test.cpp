#include "report/words.hpp"

#include <catch2/catch.hpp>

using namespace evenhand::report;
using evenhand::agreement::Value;

TEST_CASE("shares are written as percent, and never rounded to all or nothing") {
  CHECK(percent(0.834) == "83 %");
  CHECK(percent(1.0) == "100 %");
  CHECK(percent(0.0) == "0 %");
  CHECK(percent(0.996) == "99.6 %");
  CHECK(percent(0.9999) == "99.9 %");
  CHECK(percent(0.0001) == "0.1 %");
  CHECK(percent(0.05) == "5 %");
  CHECK(percent_with_limits(Value(0.9), Value(-0.1), Value(1.05)) == "90 % (0 to 100)");
}

TEST_CASE("limits that fall on the estimate are named for what they are") {
  CHECK(percent_with_limits(Value(1.0), Value(1.0), Value(1.0)) == "100 % (no spread)");
  CHECK(decimal_with_limits(Value(0.5), Value(0.5), Value(0.5 + 1e-14)) == "0.50 (no spread)");
  CHECK(decimal_with_limits(Value(0.5), Value(0.499), Value(0.501)) == "0.50 (0.50 to 0.50)");
  CHECK(decimal_with_limits(Value(0.5), Value(0.4), Value("a reason")) == "0.50");
}

TEST_CASE("decimals carry a real minus sign and no negative zero") {
  CHECK(decimal(0.8251) == "0.83");
  CHECK(decimal(-0.25) == "\u22120.25");
  CHECK(decimal(-0.001) == "0.00");
  CHECK(signed_decimal(0.125) == "+0.12");
  CHECK(signed_decimal(0.001) == "0.00");
  CHECK(signed_decimal(-2, 0) == "\u22122");
}

TEST_CASE("counts are grouped by thousands") {
  CHECK(count(0) == "0");
  CHECK(count(999) == "999");
  CHECK(count(2688) == "2,688");
  CHECK(count(1234567) == "1,234,567");
  CHECK(count_of(1, "case", "cases") == "1 case");
  CHECK(count_of(1000, "case", "cases") == "1,000 cases");
}

TEST_CASE("limits stand beside their estimate, and what has no value is a dash") {
  CHECK(percent_with_limits(Value(0.83), Value(0.8), Value(0.86)) == "83 % (80 to 86)");
  CHECK(percent_with_limits(Value(0.83), Value("no limits"), Value(0.86)) == "83 %");
  CHECK(percent_with_limits(Value("no score"), Value(0.1), Value(0.2)) == no_value);
  CHECK(decimal_with_limits(Value(-0.1), Value(-0.3), Value(0.1)) == "\u22120.10 (\u22120.30 to 0.10)");
}

TEST_CASE("a long name is cut at a character, and a short one left alone") {
  CHECK(shortened("ann", 5) == "ann");
  CHECK(shortened("marie", 5) == "marie");
  CHECK(shortened("marieke", 5) == "mari\u2026");
  CHECK(shortened("zo\u00eb\u00eb\u00eb\u00eb", 4) == "zo\u00eb\u2026");
  CHECK(shortened("", 4).empty());
}
