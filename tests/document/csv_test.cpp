#include "document/csv.hpp"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"

using namespace evenhand::document;

namespace {

using Table = std::vector<std::vector<std::string>>;

// Header and rows, or the error as the only cell.
Table table(std::string_view bytes, const CsvLimits& limits = {}) {
  auto reader = CsvReader::open(bytes, "f.csv", limits);
  if (!reader) return {{reader.error().message}};
  Table rows{reader->header()};
  CsvRow row;
  while (true) {
    const auto more = reader->next(row);
    if (!more) return {{more.error().message}};
    if (!*more) return rows;
    rows.emplace_back(row.fields.begin(), row.fields.end());
  }
}

std::string error(std::string_view bytes, const CsvLimits& limits = {}) {
  const auto rows = table(bytes, limits);
  REQUIRE(rows.size() == 1);
  REQUIRE(rows[0].size() == 1);
  return rows[0][0];
}

std::string write(const Table& rows, const CsvStyle& style = {}) {
  std::string out;
  for (const auto& row : rows) write_csv_row(out, std::span<const std::string>(row), style);
  return out;
}

}  // namespace

TEST_CASE("the examples of RFC 4180 section 2 read as it says", "[reference]") {
  const Table plain{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}};
  CHECK(table("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n") == plain);          // rule 1
  CHECK(table("aaa,bbb,ccc\r\nzzz,yyy,xxx") == plain);              // rule 2
  CHECK(table("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx") == plain);  // rule 5
  CHECK(table("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx") ==
        Table{{"aaa", "b\r\nbb", "ccc"}, {"zzz", "yyy", "xxx"}});                 // rule 6
  CHECK(table("\"aaa\",\"b\"\"bb\",\"ccc\"") == Table{{"aaa", "b\"bb", "ccc"}});  // rule 7
}

TEST_CASE("the forms spreadsheets write are understood and told") {
  auto reader = CsvReader::open("\xEF\xBB\xBFrater;case;score\r\na;c1;2,5\r\n", "f.csv");
  REQUIRE(reader.has_value());
  CHECK(reader->form().byte_order_mark);
  CHECK(reader->form().crlf);
  CHECK(reader->form().separator == ';');
  CHECK(separator_name(reader->form().separator) == "semicolon");
  CHECK(reader->header() == std::vector<std::string>{"rater", "case", "score"});
  CHECK(reader->column("case") == 1);
  CHECK_FALSE(reader->column("item").has_value());
  CsvRow row;
  CHECK(reader->next(row) == true);
  CHECK(row.fields[2] == "2,5");

  auto tabs = CsvReader::open("rater\tcase, or child\tscore\n", "f.csv");
  CHECK(tabs->form().separator == '\t');
  CHECK_FALSE(tabs->form().crlf);
  CHECK_FALSE(tabs->form().byte_order_mark);
  CHECK(CsvReader::open("\"a;b;c\",d\n", "f.csv")->form().separator == ',');
  CHECK(CsvReader::open("only\n", "f.csv")->form().separator == ',');
}

TEST_CASE("rows know their line, blank lines are skipped and counted") {
  auto reader = CsvReader::open("\n\r\na,b\n\n1,\"x\ny\"\n2,z\r\n\n\n3,\"\"\n\n", "f.csv");
  REQUIRE(reader.has_value());
  CHECK(reader->header_line() == 3);
  CsvRow row;
  std::vector<std::size_t> lines;
  while (*reader->next(row)) lines.push_back(row.line);
  CHECK(lines == std::vector<std::size_t>{5, 7, 10});
  CHECK(reader->blank_lines() == 6);
  CHECK(reader->next(row) == false);
}

TEST_CASE("empty fields and a separator at the end are fields") {
  CHECK(table(",a,\n,,\n1,\"\",3") == Table{{"", "a", ""}, {"", "", ""}, {"1", "", "3"}});
  CHECK(table("a,") == Table{{"a", ""}});
}

TEST_CASE("every fault of a CSV file names its line", "[edge]") {
  CHECK(error("") == "f.csv:1: the file is empty; it needs a header row with the names of the columns");
  CHECK(error("\n\n").find("f.csv:1: the file is empty") == 0);
  CHECK(error("a,b\n1,2\n1\n") ==
        "f.csv:3: 1 field where the header (line 1) has 2; the separator is a comma");
  CHECK(error("a;b\n1;2;3\n") ==
        "f.csv:2: 3 fields where the header (line 1) has 2; the separator is a semicolon");
  CHECK(error("a,b\n1,\"x\ny\"\n1\n").find("f.csv:4: 1 field") == 0);
  CHECK(error("a,b\n1,2\"3\n") ==
        "f.csv:2: a quote inside the field that begins with `2`; put the whole field in quotes and double "
        "the quotes "
        "inside");
  CHECK(error("a,b\n1, \"2\"\n").find("f.csv:2: a quote inside the field that begins with ` `") == 0);
  CHECK(error("a,b\n1,\"2\"3\n") ==
        "f.csv:2: text after the closing quote of `2`; end the field there, or double the quote");
  CHECK(error("a,b\n1,\"2\" \n").find("f.csv:2: text after the closing quote") == 0);
  CHECK(error("a,b\n1,\"2\n3,4\n") ==
        "f.csv:2: the quote that opens a field here is never closed; close it, or double it inside");
  CHECK(error("a,b\r1,2\r").find("f.csv:1: a carriage return without a line feed") == 0);
  CHECK(error("a,b\n1,2\r").find("f.csv:2: a carriage return without a line feed") == 0);
  CHECK(error("a,b\n1,\"2\"\r3").find("f.csv:2: text after the closing quote") == 0);
  CHECK(error(std::string_view("a,b\n1,\0\n", 8)).find("f.csv:2: a NUL byte") == 0);
  CHECK(error(std::string_view("a,b\n1,\"\0\"\n", 10)).find("f.csv:2: a NUL byte") == 0);
  CHECK(error("a,b\n1,\xFC\n") == "f.csv:2: the text is not UTF-8 (byte 0xFC); save the file as UTF-8");
}

TEST_CASE("an error leaves the reader where it was", "[edge]") {
  auto reader = CsvReader::open("a,b\n1\n2,3\n", "f.csv");
  CsvRow row;
  const auto first = reader->next(row);
  const auto again = reader->next(row);
  REQUIRE_FALSE(first.has_value());
  CHECK(first.error() == again.error());
}

TEST_CASE("CSV limits hold at their number and not before", "[edge]") {
  CHECK(table("a,b\n", {.bytes = 4}) == Table{{"a", "b"}});
  CHECK(error("a,b\n", {.bytes = 3}) == "f.csv:1: the file has 4 bytes; split it: 3 bytes are allowed");
  CHECK(table("a,b\n", {.columns = 2}).size() == 1);
  CHECK(error("a,b,c\n", {.columns = 2}) == "f.csv:1: more than 2 columns");
  CHECK(table("four\n\"four\"\n", {.field = 4}).size() == 2);
  CHECK(error("fives\n", {.field = 4}) == "f.csv:1: a field of 5 bytes; 4 are allowed");
  CHECK(
      error("a\n\"fi\"\"ves\"\n", {.field = 4}).find("f.csv:2: the field in quotes has more than 4 bytes") ==
      0);
}

TEST_CASE("views hold through doubled quotes anywhere in the row") {
  std::string bytes = "a,b,c,d,e,f\n";
  bytes += R"("""","a""b",c,"""d""","long enough to leave the small buffer ""e""",f)";
  CHECK(table(bytes)[1] == std::vector<std::string>{"\"", "a\"b", "c", "\"d\"",
                                                    "long enough to leave the small buffer \"e\"", "f"});
}

TEST_CASE("numbers in cells are plain decimals") {
  CHECK(parse_decimal("3", false) == 3.0);
  CHECK(parse_decimal(" -0.5\t", false) == -0.5);
  CHECK(parse_decimal("+2", false) == 2.0);
  CHECK(parse_decimal(".5", false) == 0.5);
  CHECK(parse_decimal("-.5", false) == -0.5);
  CHECK(parse_decimal("007", false) == 7.0);
  CHECK(parse_decimal("2,5", true) == 2.5);
  CHECK(parse_decimal("-,5", true) == -0.5);
  CHECK(parse_decimal("2.5", true) == 2.5);
  CHECK_FALSE(parse_decimal("2,5", false).has_value());
  for (const auto* bad : {"",
                          " ",
                          "-",
                          "+",
                          ".",
                          ",",
                          "5.",
                          "5,",
                          "1.000,5",
                          "1,000.5",
                          "1,2,3",
                          "1e3",
                          "0x1",
                          "inf",
                          "nan",
                          "+-1",
                          "++1",
                          "--1",
                          "1 2",
                          "4a",
                          "1+",
                          "\xC2\xA0"
                          "1"})
    CHECK_FALSE(parse_decimal(bad, true).has_value());
  CHECK_FALSE(parse_decimal(std::string(400, '9'), false).has_value());
}

TEST_CASE("fields are quoted only where they must be") {
  CHECK(write({{"a", "b c", "", "d,e", "f\"g", "h\ni"}}) == "a,b c,,\"d,e\",\"f\"\"g\",\"h\ni\"\n");
  CHECK(write({{"a", "b;c"}}, {.separator = ';'}) == "a;\"b;c\"\n");
  CHECK(write({{""}}) == "\"\"\n");
  std::string out;
  const std::vector<std::string_view> views{"x", "y"};
  write_csv_row(out, std::span<const std::string_view>(views));
  CHECK(out == "x,y\n");
}

TEST_CASE("texts that a spreadsheet would run get an apostrophe when asked", "[reference]") {
  // The characters are those of OWASP, "CSV Injection".
  const CsvStyle style{.defuse_formulas = true};
  CHECK(write({{"=1+1", "+x", "-x", "@x", "\tx", "\rx", "\nx"}}, style) ==
        "'=1+1,'+x,'-x,'@x,\"'\tx\",\"'\rx\",\"'\nx\"\n");
  CHECK(write({{"=A1,B1"}}, style) == "\"'=A1,B1\"\n");
  CHECK(write({{"-3", "+0.5", "a=b", ""}}, style) == "-3,+0.5,a=b,\n");
  CHECK(write({{"=1+1"}}) == "=1+1\n");
}

TEST_CASE("what is written reads back the same", "[property]") {
  evenhand::base::Random random(4180);
  const std::vector<std::string> pieces{"a",  "1",    ",", ";", "\t",       "\"",           "\n",
                                        "\r", "\r\n", " ", "=", "\xC3\xA9", "\xEF\xBB\xBF", "'"};
  for (int n = 0; n < 3000; ++n) {
    const std::size_t columns = 1 + random.index(5);
    Table rows(1 + random.index(5), std::vector<std::string>(columns));
    for (auto& row : rows)
      for (auto& cell : row)
        for (std::size_t i = random.index(5); i > 0; --i) cell += pieces[random.index(pieces.size())];
    const CsvStyle style{.separator = ",;\t"[random.index(3)]};
    const std::string bytes = write(rows, style);
    INFO(bytes);
    REQUIRE(table(bytes) == rows);
    REQUIRE(write(table(bytes), style) == bytes);
  }
}

TEST_CASE("no input crashes the CSV reader, and what it takes it takes again", "[property]") {
  evenhand::base::Random random(168);
  const std::string alphabet = "ab1,;\t\"\"\n\n\r ";
  int taken = 0;
  for (int n = 0; n < 10'000; ++n) {
    std::string bytes;
    for (std::size_t i = random.index(40); i > 0; --i)
      bytes += random.chance(0.98) ? alphabet[random.index(alphabet.size())]
                                   : static_cast<char>(random.index(256));
    auto reader = CsvReader::open(bytes, "f.csv");
    if (!reader) continue;
    const auto rows = table(bytes);
    if (rows.size() == 1 && rows[0] != reader->header()) continue;
    ++taken;
    INFO(bytes);
    REQUIRE(table(write(rows)) == rows);
  }
  CHECK(taken > 500);  // otherwise the inputs try little
}
