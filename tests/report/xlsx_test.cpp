// The cells are read back in tests/cli/paper_test.py, with nothing but an unzipper and an XML parser.
#include "report/xlsx.hpp"

#include <catch2/catch.hpp>

using namespace evenhand;
using namespace evenhand::report;

namespace {

Workbook book_with(std::vector<std::vector<Cell>> rows) {
  return {"Title",
          "2026-11-25",
          {{"From", "here"}},
          {{"Numbers", "All.", {{"a", "A"}, {"b", "B"}}, std::move(rows)}}};
}

}  // namespace

TEST_CASE("the same tables give the same bytes") {
  const auto book = book_with({{1.0, std::string("=1+1")}, {Cell(), std::string("x")}});
  const auto once = xlsx_of(book);
  REQUIRE(once);
  CHECK(once->starts_with("PK"));
  CHECK(*once == xlsx_of(book).value());
  auto later = book;
  later.date = "2027-01-01";
  CHECK(*once != xlsx_of(later).value());
}

TEST_CASE("what the format cannot hold is refused", "[edge]") {
  const auto long_text = xlsx_of(book_with({{1.0, std::string(32'768, 'x')}}));
  REQUIRE_FALSE(long_text);
  CHECK(long_text.error().message ==
        "Numbers, row 2: a text longer than an XLSX cell holds (32767 characters)");

  const auto long_table = xlsx_of(book_with(std::vector<std::vector<Cell>>(1'048'576, {1.0, Cell()})));
  REQUIRE_FALSE(long_table);
  CHECK(long_table.error().message.find("more than an XLSX sheet holds (1048575)") != std::string::npos);

  auto book = book_with({});
  book.sheets[0].name = "a/b";
  CHECK_FALSE(xlsx_of(book));
}

TEST_CASE("a value without a number is a blank cell") {
  CHECK(cell(agreement::Value(agreement::Reason("no case"))) == Cell());
  CHECK(cell(agreement::Value(0.25)) == Cell(0.25));
  CHECK(cell(std::size_t{7}) == Cell(7.0));
}
