#include "cases/read_case.hpp"

#include <catch2/catch.hpp>

#include "cases/small_library.hpp"

using namespace evenhand;
using Catch::Contains;
using test::faults_of_case;
using test::small_case;
using test::with;

TEST_CASE("a case is read with its child, its items and what was observed") {
  document::Faults faults;
  const auto library = cases::read_library(test::small_files(), {}, faults);
  CHECK(faults.text() == "");
  REQUIRE(library.cases.contains("owl"));
  const auto& owl = library.cases.at("owl");
  CHECK(owl.child.code == "Owl");
  CHECK(owl.child.age == 7);
  CHECK(owl.share == cases::Share::mild);
  REQUIRE(owl.items.size() == 3);
  CHECK(owl.items[0].key.level == 1);
  REQUIRE(owl.items[0].trials.size() == 2);
  CHECK(owl.items[0].trials[0].timed());
  CHECK(owl.items[0].trials[1].timeline[2].at == 7.0);
  CHECK(owl.items[0].trials[1].timeline[2].says->words == "Oops!");
  CHECK(owl.items[1].trials[1].way == 1);
  REQUIRE(owl.items[2].trials[0].observed.size() == 1);
  CHECK(owl.items[2].trials[0].observed[0].value == 15.0);
}

TEST_CASE("an unknown word is refused with the nearest one of its kind", "[edge]") {
  CHECK_THAT(faults_of_case(with(small_case(), "event: near-loss", "event: near-los")),
             Contains("owl.yaml:21:30: `near-los` is no event; did you mean `near-loss`?"));
  CHECK_THAT(faults_of_case(with(small_case(), "event: sways", "event: near")),
             Contains("`near` is no event; it is a word for `helper`; write `helper: near`"));
  CHECK_THAT(faults_of_case(with(small_case(), "event: sways", "event: [sways, palces]")),
             Contains("`palces` is no event; did you mean `helper: places`?"));
  CHECK_THAT(faults_of_case(with(small_case(), "event: sways", "event: somersaults")),
             Contains("`somersaults` is no event; the words stand in"));
}

TEST_CASE("moments stand in order of time, in tenths, within ten minutes", "[edge]") {
  CHECK_THAT(faults_of_case(with(small_case(), "at: 7.0", "at: 1.5")),
             Contains("owl.yaml:21:14: 1.5 s comes after 2 s; put the moments in order of time"));
  CHECK_THAT(faults_of_case(with(small_case(), "at: 7.0", "at: 7.05")),
             Contains("`at: 7.05` is finer than a tenth of a second"));
  CHECK_THAT(faults_of_case(with(small_case(), "at: 14.0", "at: 601")), Contains("owl.yaml:22:"));
  CHECK_THAT(faults_of_case(with(small_case(), "at: 5.0", "at: -5")), Contains("owl.yaml:15:"));
  CHECK_THAT(faults_of_case(with(small_case(), "at: 5.0", "at: 5 s")), Contains("owl.yaml:15:"));
  CHECK_THAT(faults_of_case(with(small_case(), "{at: 5.0, event: sways}", "{at: 5.0}")),
             Contains("nothing happens in this moment"));
}

TEST_CASE("a reach stands beside the moment that tells it, with a unit, and no longer than it can be played",
          "[edge]") {
  const auto faults = [](const char* moment) {
    return faults_of_case(with(small_case(), "{at: 5.0, event: sways}", moment));
  };
  CHECK_THAT(faults("{at: 5.0, event: sways, reach: 16 cm}"),
             Contains("owl.yaml:15:") && Contains("write `event: reach-furthest` beside it"));
  CHECK_THAT(faults("{at: 5.0, event: sways, reach: 31 cm}"),
             Contains("a reach of 31 cm cannot be played; give one from 0 to 28 cm"));
  CHECK_THAT(faults("{at: 5.0, event: sways, reach: -1 in}"), Contains("cannot be played"));
  CHECK_THAT(faults("{at: 5.0, event: sways, reach: 16}"), Contains("owl.yaml:15:") && Contains("`reach`"));
}

TEST_CASE("observed facts are those of the item, in their unit and believable", "[edge]") {
  CHECK_THAT(faults_of_case(with(small_case(), "hold: 15 s", "hold: 15")),
             Contains("owl.yaml:36:26: `hold`"));
  CHECK_THAT(faults_of_case(with(small_case(), "hold: 15 s", "hold: 15 cm")),
             Contains("owl.yaml:36:26: `hold`"));
  CHECK_THAT(faults_of_case(with(small_case(), "hold: 15 s", "hold: 15 min")),
             Contains("is not believed; it lies between 0 s and 600 s"));
  CHECK_THAT(faults_of_case(with(small_case(), "taps: 5", "taps: 5.5")), Contains("5.5 is no whole number"));
  CHECK_THAT(faults_of_case(with(small_case(), "taps: 5", "taps: 5, near_loss: some1")),
             Contains("`some1` is no value of `near_loss`; did you mean `some`?"));
  CHECK_THAT(faults_of_case(with(small_case(), "taps: 5", "tap: 5")),
             Contains("item 2 does not observe `tap`; did you mean `taps`?"));
}

TEST_CASE("a case has every item of its instrument once and in order", "[edge]") {
  CHECK_THAT(faults_of_case(with(small_case(), "item: \"3\"", "item: \"4\"")),
             Contains("`small` has no item `4`") && Contains("item 3 is missing"));
  CHECK_THAT(faults_of_case(with(small_case(), "item: \"3\"", "item: \"1\"")),
             Contains("item 1 stands here already, on line 9"));
  auto swapped = with(small_case(), "item: \"2\"", "item: \"x\"");
  swapped = with(with(swapped, "item: \"3\"", "item: \"2\""), "item: \"x\"", "item: \"3\"");
  CHECK_THAT(faults_of_case(swapped), Contains("item 2 is out of order"));
}

TEST_CASE("a key is a level of the item, the skip rule, or a status with its reason", "[edge]") {
  const auto item_3 = [](std::string_view key) {
    return with(small_case(), "  - item: \"3\"\n    key: \"2\"\n", key);
  };
  CHECK_THAT(faults_of_case(item_3("  - item: \"3\"\n    key: \"5\"\n")),
             Contains("item 3 has no level `5`"));
  CHECK_THAT(faults_of_case(item_3("  - item: \"3\"\n    key: refussed\n")),
             Contains("did you mean `refused`?"));
  CHECK_THAT(faults_of_case(item_3("  - item: \"3\"\n    key: refused\n")),
             Contains("`refused` stands without a reason"));
  CHECK(faults_of_case(item_3("  - item: \"3\"\n    key: refused\n    why: She runs off.\n")) == "");
  CHECK_THAT(faults_of_case(item_3("  - item: \"3\"\n    key: \"2\"\n    why: So.\n")),
             Contains("`why` belongs to an item without a score"));
}

TEST_CASE("trials keep to the rule of their item", "[edge]") {
  const std::string more =
      "        observed: {hold: 15 s}\n      - written: Once more.\n        observed: {hold: 3 s}\n";
  CHECK_THAT(faults_of_case(with(small_case(), "        observed: {hold: 15 s}\n", more)),
             Contains("owl.yaml:37:9: item 3: one trial more than the 1 of its rule"));
  CHECK_THAT(
      faults_of_case(with(small_case(), "- written: She sits", "- practice: yes\n        written: She sits")),
      Contains("one practice trial more than the 0 of its rule") &&
          Contains("item 3 has no trial that counts"));
  CHECK_THAT(faults_of_case(with(small_case(), "way: right", "way: left")),
             Contains("item 2, left: one trial more than the 1") &&
                 Contains("item 2, right has no trial that counts"));
  CHECK_THAT(faults_of_case(with(small_case(), "way: right", "way: rigth")),
             Contains("did you mean `right`?"));
  CHECK_THAT(faults_of_case(with(small_case(), "      - way: right\n        written:", "      - written:")),
             Contains("owl.yaml:29:9: a trial has no `way`"));
  CHECK_THAT(
      faults_of_case(with(small_case(), "- written: She sits", "- way: left\n        written: She sits")),
      Contains("item 3 goes one way only"));
  CHECK_THAT(faults_of_case(with(small_case(), "        observed: {}\n      - timeline",
                                 "      - practice: yes\n        timeline")),
             Contains("a practice trial comes after one that counts"));
}

TEST_CASE("a trial is written or a timeline, and never neither", "[edge]") {
  CHECK_THAT(faults_of_case(with(small_case(), "        observed: {}\n", "        written: She stands.\n")),
             Contains("a trial is both written and a timeline"));
  CHECK_THAT(faults_of_case(with(small_case(),
                                 "written: She sits down, folds her hands and hums a whole song before time "
                                 "is called.\n        observed",
                                 "observed")),
             Contains("a trial shows nothing"));
}

TEST_CASE("the file has the name of the case, and knows its keys", "[edge]") {
  CHECK_THAT(faults_of_case(with(small_case(), "id: owl", "id: eagle")),
             Contains("owl.yaml:2:1: the case is `eagle`, its file `owl.yaml`; name the file as the case"));
  CHECK_THAT(faults_of_case(with(small_case(), "setting:", "seting:")), Contains("did you mean `setting`?"));
  CHECK_THAT(faults_of_case(with(small_case(), "share: mild", "share: milde")),
             Contains("did you mean `mild`?"));
  CHECK_THAT(faults_of_case(with(small_case(), "age: 7", "age: 700")), Contains("owl.yaml:4:"));
  CHECK_THAT(faults_of_case(with(small_case(), "instrument: small", "instrument: smal")),
             Contains("there is no instrument `smal`; did you mean `small`?"));
}

TEST_CASE("all faults of a case are found in one run") {
  auto text = with(small_case(), "event: sways", "event: swais");
  text = with(text, "hold: 15 s", "hold: 15");
  text = with(text, "setting:", "seting:");
  document::Faults faults;
  cases::read_library(test::small_files(text), {}, faults);
  CHECK(faults.size() == 4);  // and `setting` is missing
}
