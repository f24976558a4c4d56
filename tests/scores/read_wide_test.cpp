#include "scores/read_wide.hpp"

#include <catch2/catch.hpp>

using namespace evenhand;
using namespace evenhand::scores;

TEST_CASE("a column an item") {
  const auto read = read_wide("rater,case,1,2\nann,c1,3,4\nben,c1,,refused\n", "w.csv", Wide::items);
  REQUIRE(read);
  REQUIRE(read->table.size() == 3);
  CHECK(read->table.score(1).item.text() == "2");
  CHECK(read->table.score(1).value == "4");
  CHECK(read->table.status(2) == Status::refused);
}

TEST_CASE("a column a rater") {
  const auto read = read_wide("case,ann,ben\nc1,3,4\nc2,2,2\n", "w.csv", Wide::raters);
  REQUIRE(read);
  REQUIRE(read->table.size() == 4);
  CHECK(read->table.raters().size() == 2);
  CHECK(read->table.score(1).rater.text() == "ben");
  CHECK(read->table.score(1).value == "4");
}

TEST_CASE("columns of the long form that fit no cell are refused", "[edge]") {
  const auto read = read_wide("rater,case,1,seconds\nann,c1,3,4\n", "w.csv", Wide::items);
  REQUIRE_FALSE(read);
  CHECK(read.error().text().find("seconds") != std::string::npos);
}

TEST_CASE("a row twice names both lines", "[edge]") {
  const auto read = read_wide("rater,case,1\nann,c1,3\nann,c1,4\n", "w.csv", Wide::items);
  REQUIRE_FALSE(read);
  CHECK(read.error().text().find("w.csv:3") != std::string::npos);
}
