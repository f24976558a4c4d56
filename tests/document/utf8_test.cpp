#include "document/utf8.hpp"

#include <string>

#include <catch2/catch.hpp>

#include "document/quote.hpp"

using namespace evenhand::document;

TEST_CASE("UTF-8 is well formed as RFC 3629 section 4 and Unicode table 3-7 have it", "[reference]") {
  // First and last of each row of the table.
  for (const std::string good :
       {"\x7F", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xE0\xBF\xBF", "\xE1\x80\x80", "\xEC\xBF\xBF",
        "\xED\x80\x80", "\xED\x9F\xBF", "\xEE\x80\x80", "\xEF\xBF\xBF", "\xF0\x90\x80\x80",
        "\xF0\xBF\xBF\xBF", "\xF1\x80\x80\x80", "\xF3\xBF\xBF\xBF", "\xF4\x80\x80\x80", "\xF4\x8F\xBF\xBF"})
    CHECK_FALSE(first_not_utf8("long enough " + good + " for blocks").has_value());
  // Just outside; overlong forms, surrogates, beyond U+10FFFF, cut short.
  for (const std::string bad :
       {"\x80", "\xC0\x80", "\xC1\xBF", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xEF\xBF", "\xF0\x8F\xBF\xBF",
        "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFF", "\xC2", "\xE1\x80", "\xF1\x80\x80"})
    for (const std::string before : {"", "1234567", "12345678", "123456789"}) {
      INFO(before.size());
      CHECK(first_not_utf8(before + bad) == before.size());
      CHECK(first_not_utf8(before + bad + "after it more text") == before.size());
    }
}

TEST_CASE("characters that do not show are found with their place") {
  const auto at = [](std::string text) {
    const auto hidden = first_hidden_character(text);
    return hidden ? static_cast<long>(hidden->at) : -1;
  };
  CHECK(at("a\tb\nc\r\nd \xC3\xA9 \xE2\x82\xAC \xF0\x9F\x98\x80") == -1);
  CHECK(at("ab\rc") == 2);
  CHECK(at(std::string("ab\0c", 4)) == 2);
  CHECK(at("a\x1B[0m") == 1);
  CHECK(at("a\x7F") == 1);
  CHECK(at("a\xC2\x85") == 1);             // U+0085, next line
  CHECK(at("\xC3\xA9\xE2\x80\xAE") == 2);  // U+202E
  CHECK(at("\xC3\xA9\xE2\x81\xA6") == 2);  // U+2066
  CHECK(at("\xC3\xA9\xEF\xBB\xBF") == 2);  // U+FEFF
  CHECK(first_hidden_character("\xE2\x80\xAE")->character == U'\u202E');
}

TEST_CASE("columns count characters, lines count line feeds") {
  const std::string text =
      "\xC3\xA9"
      "a\r\nb\xE2\x82\xAC"
      "c";
  CHECK(line_column(text, 0).column == 1);
  CHECK(line_column(text, 2).column == 2);
  CHECK(line_column(text, 5).line == 2);
  CHECK(line_column(text, 5).column == 1);
  CHECK(line_column(text, 9).column == 3);
}

TEST_CASE("a quoted piece of text is short, on one line and whole characters") {
  CHECK(quote("a\nb") == "`a b`");
  const std::string fifty_nine(59, 'x');
  CHECK(quote(fifty_nine + "\xC3\xA9y") == "`" + fifty_nine + "...`");
  CHECK(quote(std::string(60, 'x')) == "`" + std::string(60, 'x') + "`");
}
