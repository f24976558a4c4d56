#include "agreement/from_scores.hpp"

#include <catch2/catch.hpp>

#include "scores/read_long.hpp"

using namespace evenhand;

TEST_CASE("every score keeps its rater, case and item on the way to the statistics") {
  const auto read = scores::read_long(
      "rater,case,item,score,status\nann,c1,1,4,\nann,c2,1,3,\nann,c3,1,0,\nben,c1,1,2,\nben,c2,1,1,\nann,c1,"
      "2,4,skip-rule\n",
      "s.csv");
  REQUIRE(read);
  const auto rounds = scores::resolve(read->table, {});
  REQUIRE(rounds);
  const auto m = agreement::matrix_of(rounds->front());
  REQUIRE(m.raters == std::vector<std::string>{"ann", "ben"});
  REQUIRE(m.cases == std::vector<std::string>{"c1", "c2", "c3"});
  const auto score = [&](std::size_t item, std::size_t rater, std::size_t case_) {
    const auto category = m.at(item, rater, case_).category;
    return category < 0 ? std::string("none") : m.categories[static_cast<std::size_t>(category)];
  };
  CHECK(score(0, 0, 0) == "4");
  CHECK(score(0, 0, 1) == "3");
  CHECK(score(0, 0, 2) == "0");
  CHECK(score(0, 1, 0) == "2");
  CHECK(score(0, 1, 1) == "1");
  CHECK(score(0, 1, 2) == "none");
  CHECK(score(1, 0, 0) == "4");
  CHECK(m.at(1, 0, 0).filled);
  CHECK_FALSE(m.at(0, 0, 0).filled);
}
