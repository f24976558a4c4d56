#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "figure/poses_json.hpp"
#include "figure/read_poses.hpp"
#include "figure/still.hpp"
#include "figure/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using Catch::Contains;

namespace {

std::string shipped() { return test::shipped_library().poses.at("figure").text; }

std::string faults_of(const std::string& text) {
  document::Faults faults;
  CHECK_FALSE(figure::read_poses(text, "figure.yaml", test::shipped_library().vocabulary, faults));
  return faults.text();
}

std::string with(const std::string& old, const std::string& now) {
  auto text = shipped();
  const auto at = text.find(old);
  REQUIRE(at != std::string::npos);
  return text.replace(at, old.size(), now);
}

}  // namespace

TEST_CASE("the shipped poses read without a fault") {
  document::Faults faults;
  CHECK(figure::read_poses(shipped(), "figure.yaml", test::shipped_library().vocabulary, faults));
  CHECK(faults.text() == "");
}

TEST_CASE("a pose file at fault says where", "[edge]") {
  CHECK_THAT(faults_of(with("  sways:\n", "  swais:\n")),
             Contains("`swais` is no word of the vocabulary") && Contains("`sways` is never played"));
  CHECK_THAT(faults_of(with("point: wall", "point: wal")), Contains("there is no point `wal`"));
  CHECK_THAT(faults_of(with("pelvis: [0, 0, 54]", "pelvis: [0, 54]")), Contains("has 2 numbers"));
  CHECK_THAT(faults_of(with("trunk: [3, 0, 0]", "trnk: [3, 0, 0]")),
             Contains("`trnk` is no group of channels"));
  CHECK_THAT(faults_of(with("mirrors: one-leg-left", "mirrors: one-leg-right")), Contains("has no ways"));
  CHECK_THAT(faults_of(with("{toes: [0, 1, 1, 0.3, 0]}", "{toes: [0, 1, 1, 0.3, 0.2]}")),
             Contains("begins and ends with nothing"));
  CHECK_THAT(faults_of(with("evenhand/poses-1", "evenhand/poses-2")), Contains("evenhand/poses-1"));
}

TEST_CASE("the poses are JSON with the same numbers") {
  const auto json = nlohmann::json::parse(figure::poses_json(shipped()));
  CHECK(json.at("bodies").at("child").at("thigh") == test::poses().lengths_of("child").thigh);
  CHECK(json.at("words").at("one-leg-right").at("mirrors") == "one-leg-left");
  CHECK(json.at("points").at("belt").at("turned") == false);
  CHECK(json.at("words").size() == test::poses().words.size());
  CHECK(figure::poses_json("a: [") == "null");
}

TEST_CASE("a still picture is SVG that says what it shows") {
  const auto trial = test::demonstrations().front();
  const auto state = figure::state_at(trial.timeline, 0, test::poses());
  const auto svg = figure::still(state, test::poses(), "side", "Sits on a bench & waits");
  CHECK_THAT(svg, Contains("<title>Sits on a bench &amp; waits</title>") && Contains("class=\"fig-limb") &&
                      Contains("viewBox=\"0 0 320 352\""));
  CHECK(svg.find("nan") == std::string::npos);
}
