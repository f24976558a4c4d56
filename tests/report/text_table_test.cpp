#include "report/text_table.hpp"

#include <catch2/catch.hpp>

using namespace evenhand::report;

TEST_CASE("a text table lines up by characters, not by bytes") {
  const auto text = text_table({{"who", Align::left}, {"share"}}, {{"ann", "\u2013"}, {"benjamin", "83 %"}});
  CHECK(text == "  who       share\n  ann           \u2013\n  benjamin   83 %\n");
}

TEST_CASE("no line of a text table ends in blanks") {
  const auto text = text_table({{"a", Align::left}, {"b", Align::left}}, {{"x", ""}, {"y", "long"}});
  CHECK(text.find(" \n") == std::string::npos);
}

TEST_CASE("words are wrapped at the width") {
  CHECK(wrapped("one two three four", 9, 2) == "  one two\n  three\n  four\n");
  CHECK(wrapped("", 9, 2).empty());
  CHECK(wrapped("incomprehensibilities", 5, 0) == "incomprehensibilities\n");
}
