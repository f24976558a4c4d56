#include "document/decimal.hpp"

#include <catch2/catch.hpp>

using evenhand::document::with_decimal_point;

namespace {

std::string said(std::string_view text) {
  const auto result = with_decimal_point(text);
  return result ? *result : result.error().message;
}

}  // namespace

TEST_CASE("a decimal comma becomes a point, and what has none stays as it is") {
  CHECK(said("3,5") == "3.5");
  CHECK(said("-0,25 cm") == "-0.25 cm");
  CHECK(said("29,75 s") == "29.75 s");
  CHECK(said("1234,567") == "1234.567");
  CHECK(said("0,250") == "0.250");
  CHECK(said("3.5 s") == "3.5 s");
  CHECK(said("heel-to-toe") == "heel-to-toe");
}

TEST_CASE("a comma that may part thousands is refused with both readings", "[edge]") {
  CHECK(said("1,234") == "`1,234` may be 1.234 or 1234; write it without the comma");
  CHECK(said("12,345 s").find("may be 12.345 or 12345") != std::string::npos);
}

TEST_CASE("two marks, or a comma without digits around it, are no number", "[edge]") {
  for (const char* text : {"1.234,5", "1,234.5", "1,2,3", ",5", "3,", "a,5", "3,s"}) {
    INFO(text);
    CHECK(said(text).find("is no number; write one with at most one mark, such as 3.5") != std::string::npos);
  }
}
