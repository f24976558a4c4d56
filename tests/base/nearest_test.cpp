#include "base/nearest.hpp"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

using evenhand::base::nearest;

TEST_CASE("the nearest known word is offered for a slip of the pen") {
  const std::vector<std::string> known{"levels", "observe", "trials", "rulings"};
  CHECK(nearest("level", known) == "levels");
  CHECK(nearest("obsrve", known) == "observe");
  CHECK(nearest("trails", known) == "trials");
  CHECK(nearest("rulings", known) == "rulings");
}

TEST_CASE("nothing is offered for a word that is far from all") {
  const std::vector<std::string> known{"levels", "observe"};
  CHECK_FALSE(nearest("photograph", known).has_value());
  CHECK_FALSE(nearest(std::string(5000, 'l'), known).has_value());
  CHECK_FALSE(nearest("x", std::vector<std::string>{}).has_value());
}
