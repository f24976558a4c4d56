#include "cases/vocabulary.hpp"

#include <string_view>

#include <catch2/catch.hpp>

#include "document/yaml.hpp"

using namespace evenhand;
using cases::Vocabulary;
using cases::WordKind;

namespace {

Vocabulary read(std::string_view text, document::Faults& faults) {
  const auto file = document::read_yaml(text, "vocabulary.yaml", faults);
  REQUIRE(file);
  return Vocabulary::read(*file, faults);
}

constexpr std::string_view small = R"(format: evenhand/vocabulary-1
poses:
  standing: stands
contacts:
  hand-on-wall: a hand on the wall
helper-actions:
  near: stands within reach
events:
  sways: sways and stays put
  near-loss: goes, and catches herself
)";

}  // namespace

TEST_CASE("a vocabulary knows every word, what kind it is and what it means") {
  document::Faults faults;
  const auto vocabulary = read(small, faults);
  CHECK(faults.text() == "");
  REQUIRE(vocabulary.find("near-loss") != nullptr);
  CHECK(vocabulary.find("near-loss")->kind == WordKind::event);
  CHECK(vocabulary.find("near-loss")->meaning == "goes, and catches herself");
  CHECK(vocabulary.find("near")->kind == WordKind::helper);
  CHECK(vocabulary.find("falls") == nullptr);
  CHECK(vocabulary.ids(WordKind::event) == std::vector<std::string>{"sways", "near-loss"});
  CHECK(vocabulary.ids().size() == 5);
}

TEST_CASE("a word of two kinds is refused where it stands again", "[edge]") {
  document::Faults faults;
  read(R"(format: evenhand/vocabulary-1
poses: {standing: stands}
contacts: {hand-on-wall: a hand on the wall}
helper-actions: {near: stands within reach}
events:
  near: comes near
)",
       faults);
  CHECK(
      faults.text() ==
      "vocabulary.yaml:6:3: `near` is an id already, on line 4; ids are unique over poses, contacts, helper "
      "actions and events; choose another\n");
}

TEST_CASE("an id that is none, a missing list and an unknown key are refused", "[edge]") {
  document::Faults faults;
  read(R"(format: evenhand/vocabulary-1
poses: {Standing up: stands}
contacts: {hand-on-wall: a hand on the wall}
helper-actions: {near: stands within reach}
event: {sways: sways}
)",
       faults);
  const auto text = faults.text();
  CHECK_THAT(text, Catch::Contains("vocabulary.yaml:2:9: `Standing up` is no id"));
  CHECK_THAT(text, Catch::Contains("vocabulary.yaml:5:1: "));
  CHECK(faults.size() == 3);  // and `events` is missing
}
