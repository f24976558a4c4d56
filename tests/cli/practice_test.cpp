// A sitting through a pipe, as a script or a screen reader's terminal has it.
#include <catch2/catch.hpp>

#include "support.hpp"

using namespace evenhand::test;

namespace {

/// Facts as usual, then the score, no sureness.
std::string item(const std::string& score) { return "\n" + score + "\n\n"; }

}  // namespace

TEST_CASE("an answer gets its reason at once, and is in the store before the next question") {
  const TemporaryFolder folder;
  const auto store = folder.path("p.db");
  const std::vector<std::string> command{"practice", "--set", "pb-first-steps", "--rater", "ann",
                                         "--store",  store};
  const auto first = run(command, item("3"));
  REQUIRE(first.exit == 0);
  CHECK(first.out.find("Key: 4. You gave 3.") != std::string::npos);
  CHECK(first.out.find("Read the rule wrong") != std::string::npos);
  const auto second = run(command, "");
  CHECK(second.out.find("1 of 10 items are answered") != std::string::npos);
  const auto exported = run({"export", "--store", store});
  REQUIRE(exported.exit == 0);
  CHECK(exported.out.find("ann,pb-lark,1") != std::string::npos);
}

TEST_CASE("another rater, another sitting") {
  const TemporaryFolder folder;
  const auto store = folder.path("p.db");
  run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", store}, item("4"));
  const auto ben = run({"practice", "--set", "pb-first-steps", "--rater", "ben", "--store", store}, "");
  CHECK(ben.out.find("answered") == std::string::npos);
}

TEST_CASE("nothing is shown before the end of a skills check") {
  const TemporaryFolder folder;
  const auto ran = run(
      {"practice", "--set", "pb-demonstration", "--rater", "ann", "--store", folder.path("p.db")}, item("3"));
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.find("Key:") == std::string::npos);
}

TEST_CASE("a slip of the keyboard is asked again, and q leaves with everything saved") {
  const TemporaryFolder folder;
  const auto ran =
      run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", folder.path("p.db")},
          "99\n\nseven\n4\n200\n80\nq\n");
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.find("Type a number from 1 to 9, or nothing.") != std::string::npos);
  CHECK(ran.out.find("Type one of 4, 3, 2, 1 or 0") != std::string::npos);
  CHECK(ran.out.find("Type a number from 0 to 100") != std::string::npos);
  CHECK(ran.out.find("Key: 4. You gave the same.") != std::string::npos);
  CHECK(ran.out.find("Saved.") != std::string::npos);
}

TEST_CASE("without a set the sets are listed") {
  const TemporaryFolder folder;
  const auto ran = run({"practice", "--rater", "ann", "--store", folder.path("p.db")}, "");
  CHECK(ran.out.find("pb-support") != std::string::npos);
  CHECK(ran.exit == 0);
}
