// The same table as spreadsheets save it, and what the person who imports it is told.
#include <catch2/catch.hpp>

#include "scores/read_long.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

using Notes = std::vector<std::string>;

ReadScores read(const std::string& text) {
  auto made = read_long(text, "s.csv");
  INFO((made ? std::string() : made.error().text()));
  REQUIRE(made);
  return std::move(*made);
}

const std::string plain = "rater,case,score,seconds\nann,c 1,2.5,9.4\nben,c 1,3,\n";

}  // namespace

TEST_CASE("a plain file needs no notes") { CHECK(read(plain).notes.empty()); }

TEST_CASE("every way a spreadsheet writes a table gives the same table") {
  const auto wanted = read(plain).table;
  const auto semicolons = read("rater;case;score;seconds\nann;c 1;2,50;9,4\nben;c 1;3,0;\n");
  CHECK(semicolons.table == wanted);
  CHECK(semicolons.notes == Notes{"semicolons between fields; decimal comma"});
  const auto tabs = read("rater\tcase\tscore\tseconds\nann\tc 1\t2.5\t9.4\nben\tc 1\t3\t\n");
  CHECK(tabs.table == wanted);
  CHECK(tabs.notes == Notes{"tabs between fields"});
  const auto windows = read("\xEF\xBB\xBFrater,case,score,seconds\r\nann,c 1,2.5,9.4\r\nben,c 1,3,\r\n");
  CHECK(windows.table == wanted);
  CHECK(windows.notes ==
        Notes{"a byte-order mark at the beginning", "lines end with carriage return and line feed"});
  const auto quoted =
      read("\"rater\",\"case\",\"score\",\"seconds\"\n\" ann \",\"c 1\",\"2.5\",\"9.4\"\nben,c 1,3,");
  CHECK(quoted.table == wanted);
  const auto blank = read("rater,case,score,seconds\n\nann,c 1,2.5,9.4\n,,,\n \t,,,\nben,c 1,3,\n\n");
  CHECK(blank.table == wanted);
  CHECK(blank.notes == Notes{"4 empty lines skipped"});
}

TEST_CASE("a decimal comma in what was written down becomes a point") {
  const auto made = read("rater;case;score;obs.hold\na;c;1;9,4\n");
  CHECK(made.table.note(0, 0) == "9.4");
  CHECK(read("rater;case;score;obs.hold\na;c;1;left, then right\n").table.note(0, 0) == "left, then right");
}

TEST_CASE("what may be a slip is said") {
  CHECK(read("rater,case,score\nAnn,c,1\nann,c,1\n").notes ==
        Notes{"raters `Ann` and `ann` differ in capitals only; they are kept apart"});
  CHECK(read("rater,case,score\na,c,1\nb,c,1+\n").notes ==
        Notes{"scores that are words among numbers: `1+`; all scores stay as written"});
  CHECK(read("rater,case,score\na,c,\nb,c,1\n").notes ==
        Notes{"1 place without a score or status: not scored"});
}
