#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "support.hpp"

using namespace evenhand::test;
using nlohmann::json;

TEST_CASE("bare observations give level, reason and what was missing") {
  const auto ran = run({"key", "--instrument", "pediatric-balance", "--item", "4", "--observed", "hold=22",
                        "--format", "json"});
  REQUIRE(ran.exit == 0);
  const json j = json::parse(ran.out);
  CHECK(j.at("level") == "2");
  CHECK(j.at("missing_for_next_level").at("level") == "3");
  CHECK_FALSE(j.at("reason").empty());
  CHECK_FALSE(j.at("gray").get<bool>());
}

TEST_CASE("several observations follow one option, several trials one option each") {
  const auto one = run({"key", "--instrument", "pediatric-balance", "--item", "8", "--observed",
                        "position=clear-step", "hold=20", "--format", "json"});
  REQUIRE(one.exit == 0);
  CHECK(json::parse(one.out).at("level") == "1");
  CHECK(json::parse(one.out).at("rulings").at(0) == "8-a");
  const auto two = run({"key", "--instrument", "pediatric-balance", "--item", "4", "--trial", "hold=12",
                        "--trial", "hold=31", "--format", "json"});
  REQUIRE(two.exit == 0);
  CHECK(json::parse(two.out).at("level") == "4");
  CHECK(json::parse(two.out).at("trial") == 2);
}

TEST_CASE("a case shows how each of its keys follows") {
  const auto ran = run({"key", "pb-lynx", "--item", "8"});
  INFO(ran.err);
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.find("One foot ahead: 3") != std::string::npos);
}

TEST_CASE("with nothing stated there is no answer, only what can be observed", "[edge]") {
  for (const std::vector<std::string>& nothing :
       {std::vector<std::string>{}, std::vector<std::string>{"--trial", " "}}) {
    std::vector<std::string> command{"key", "--instrument", "pediatric-balance", "--item", "3"};
    command.insert(command.end(), nothing.begin(), nothing.end());
    const auto ran = run(command);
    CHECK(ran.exit == 1);
    CHECK(ran.out.empty());
    CHECK_THAT(ran.err, Catch::Contains("say what was seen in item 3: --observed transfer_hands=..."));
    for (const char* name : {"transfer_hands: ", "helpers: ", "second_adult: "})
      CHECK_THAT(ran.err, Catch::Contains(name));
  }
}

TEST_CASE("a decimal comma is a decimal point, in one trial as in several") {
  const auto level = [](const std::vector<std::string>& seen) {
    std::vector<std::string> command{"key",      "--instrument", "pediatric-balance", "--item", "4",
                                     "--format", "json"};
    command.insert(command.end(), seen.begin(), seen.end());
    const auto ran = run(command);
    INFO(ran.err);
    REQUIRE(ran.exit == 0);
    return json::parse(ran.out).at("level").get<std::string>();
  };
  CHECK(level({"--observed", "hold=29,7"}) == "2");
  CHECK(level({"--trial", "hold=29,7, cue=none", "--trial", "hold=30,1; cue=none"}) == "4");
  const auto ran =
      run({"key", "--instrument", "pediatric-balance", "--item", "4", "--observed", "hold=1,234"});
  CHECK(ran.exit == 1);
  CHECK_THAT(ran.err, Catch::Contains("may be 1.234 or 1234"));
}

TEST_CASE("what is not known is answered with the nearest", "[edge]") {
  CHECK(run({"key", "pb-linx"}).err.find("pb-lynx") != std::string::npos);
  CHECK(run({"key", "--instrument", "pediatric-balanc", "--item", "4"}).err.find("pediatric-balance") !=
        std::string::npos);
  const auto ran = run({"key", "--instrument", "pediatric-balance", "--item", "4", "--observed", "hodl=3"});
  CHECK(ran.exit == 1);
  CHECK(ran.err.find("hold") != std::string::npos);
}

TEST_CASE("every item's gray zones are listed with their rulings") {
  const auto ran = run({"gray", "pediatric-balance", "--all"});
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.find("What a situation does not name\nwas as usual, or makes no difference.") !=
        std::string::npos);
  for (const char* id : {"8-a", "9-b", "P1", "P2", "P5", "14-d", "2-h", "5-c", "12-a", "13-c"}) {
    INFO(id);
    CHECK(ran.out.find(id) != std::string::npos);
  }
}

TEST_CASE("the library is in order, and its coverage complete") {
  const auto ran = run({"check", "--coverage"});
  INFO(ran.out << ran.err);
  REQUIRE(ran.exit == 0);
  CHECK(ran.err.empty());
  CHECK(ran.out.find("no fault") != std::string::npos);
}
