// tests/figure/joints.json says where joints are on the pictures at fixed times. The browser's figure is held
// to it (figure_test.mjs), so it must say what this program does. After a change of poses:
//   build/debug/tests/figure/figure_sheets joints > tests/figure/joints.json

#include <catch2/catch.hpp>

#include "figure/support.hpp"

using namespace evenhand;

TEST_CASE("the joints that the browser is held to are those of this program") {
  const auto kept = nlohmann::json::parse(test::read_file("tests/figure/joints.json"));
  REQUIRE(kept.size() >= 6);
  int compared = 0;
  for (const auto& trial : test::demonstrations())
    for (const auto& each : kept) {
      if (each.at("name") != trial.name) continue;
      CHECK(each.at("timeline") == test::to_json(trial.timeline));
      for (const auto& at : each.at("pictures")) {
        INFO(trial.name << " at " << at.at("t"));
        CHECK(at.at("joints") ==
              test::picture_json(figure::state_at(trial.timeline, at.at("t").get<double>(), test::poses())));
        ++compared;
      }
    }
  CHECK(compared >= 36);
}
