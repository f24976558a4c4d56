#include "cases/check_case.hpp"

#include <string>

#include <catch2/catch.hpp>

#include "cases/small_library.hpp"

using namespace evenhand;
using Catch::Contains;
using test::small_case;
using test::with;

namespace {

std::string faults_of(std::string text) {
  document::Faults faults, remarks;
  const auto library = cases::read_library(test::small_files(std::move(text)), {}, faults);
  REQUIRE(faults.text() == "");
  cases::check_library(library, faults, remarks);
  return faults.text();
}

const std::string item_3 =
    "    key: \"2\"\n    trials:\n      - written: She sits down, folds her hands and hums a whole song "
    "before time is "
    "called.\n        observed: {hold: 15 s}\n";

}  // namespace

TEST_CASE("a case whose keys follow has no fault") { CHECK(faults_of(small_case()) == ""); }

TEST_CASE("a key that does not follow is refused, with what was seen") {
  CHECK(faults_of(with(small_case(), "item: \"1\"\n    key: \"1\"", "item: \"1\"\n    key: \"2\"")) ==
        "owl.yaml:10:5: item 1: the key is stated as 2, but 1 follows: trial 2 counts (held 12 s; goes and "
        "catches "
        "herself); mend the key, or what is seen\n");
  CHECK_THAT(faults_of(with(small_case(), "hold: 15 s", "hold: 8 s")),
             Contains("owl.yaml:33:5: item 3: the key is stated as 2, but 1 follows: seen was (held 8 s)"));
}

TEST_CASE("a ruling that the key hangs on is named when the key differs") {
  const auto text = with(with(small_case(), "at: 6.0, event: foot-moves", "at: 8.5, event: foot-moves"),
                         "at: 7.0, event: near-loss", "at: 7.0, event: foot-moves");
  CHECK_THAT(faults_of(text), Contains("but 0 follows: trial 1 counts (held 6.5 s), by ruling 1-a;"));
}

TEST_CASE("what nobody ruled on has no key", "[edge]") {
  const auto text = with(small_case(), "at: 14.0, event: time-called", "at: 8.5, event: foot-moves");
  CHECK_THAT(faults_of(text),
             Contains("item 1: no key follows, ") && Contains("nobody has ruled on what was seen"));
}

TEST_CASE("what is stated and what the timeline shows must agree", "[edge]") {
  CHECK(faults_of(with(small_case(), "        observed: {}\n", "        observed: {hold: 5 s}\n")) ==
        "owl.yaml:17:26: item 1: `hold` is stated as \"held 5 s\", but the timeline shows \"held 4 s\"; "
        "leave it out "
        "of `observed`, or mend the moments\n");
  CHECK(faults_of(with(small_case(), "        observed: {}\n",
                       "        observed: {hold: 4 s, placed: self}\n")) == "");
}

TEST_CASE("what is neither stated nor shown is asked for", "[edge]") {
  CHECK_THAT(
      faults_of(with(small_case(), "{hold: 15 s}", "{}")),
      Contains(
          "owl.yaml:35:9: item 3: nothing says what `hold` was; state it under `observed`: How long was it"));
  CHECK_THAT(
      faults_of(with(small_case(), "          - {at: 14.0, event: time-called}\n", "")),
      Contains(
          "item 1: nothing says what `hold` was (it does not end: `foot-moves` or `catches` or `time-called` "
          "never comes)"));
}

TEST_CASE("facts that cannot be seen together are refused", "[edge]") {
  CHECK_THAT(
      faults_of(with(small_case(), "        observed: {}\n", "        observed: {ended: time-called}\n")),
      Contains("item 1: these cannot be seen together"));
}

TEST_CASE("borderline is stated where it is so and nowhere else", "[edge]") {
  const auto near = with(small_case(), "hold: 15 s", "hold: 10.2 s");
  CHECK(faults_of(near) ==
        "owl.yaml:33:5: item 3: 10.2 s lies so near to 10 s that the key could be 1; state `borderline: "
        "yes`, or move "
        "it away from the threshold\n");
  const auto stated = [](const std::string& text) {
    return with(text, "item: \"3\"\n    key: \"2\"\n", "item: \"3\"\n    key: \"2\"\n    borderline: yes\n");
  };
  CHECK(faults_of(stated(near)) == "");
  CHECK_THAT(faults_of(stated(small_case())), Contains("item 3: it is stated as borderline, but no number"));
  // The band is 0.6 s below and 0.3 s above: 10.3 s is outside it.
  CHECK(faults_of(with(small_case(), "hold: 15 s", "hold: 10.3 s")) == "");
}

TEST_CASE("no trial comes after a full score", "[edge]") {
  auto text = with(small_case(), "at: 6.0, event: foot-moves", "at: 13.0, event: time-called");
  text = with(text, "item: \"1\"\n    key: \"1\"", "item: \"1\"\n    key: \"2\"");
  CHECK(faults_of(text) ==
        "owl.yaml:18:9: item 1: a trial after one that earned the full score; leave it out\n");
}

TEST_CASE("the skip rule is taken exactly where it holds", "[edge]") {
  const auto full = with(with(small_case(), "event: near-loss, ", "event: sways, "),
                         "item: \"1\"\n    key: \"1\"", "item: \"1\"\n    key: \"2\"");
  CHECK(faults_of(with(full, item_3, "    key: skip-rule\n")) == "");
  CHECK(faults_of(full) == "");  // tested although it could be skipped
  CHECK_THAT(faults_of(with(full, item_3, "    key: not-tested\n    why: No time.\n")),
             Contains("owl.yaml:33:5: item 3: the skip rule fills it; write `key: skip-rule`"));
  CHECK(faults_of(with(full, item_3, "    key: refused\n    why: She runs off.\n")) == "");
  CHECK_THAT(faults_of(with(small_case(), item_3, "    key: skip-rule\n")),
             Contains("owl.yaml:33:5: item 3: the skip rule does not hold here"));
  CHECK_THAT(faults_of(with(full, "item: \"3\"\n    key: \"2\"\n", "item: \"3\"\n    key: skip-rule\n")),
             Contains("item 3: `skip-rule` stands although the item was tested"));
}

TEST_CASE("a mean takes all its trials, unless the first has the full score", "[edge]") {
  const auto faults = [](std::string text) {
    auto files = test::small_files(std::move(text));
    files[1].text = with(files[1].text, "    observe: [hold]\n    trials: {count: 1, counts: best}\n",
                         "    observe: [hold]\n    trials: {count: 3, counts: mean, stop_at: \"2\"}\n");
    document::Faults found, remarks;
    const auto library = cases::read_library(files, {}, found);
    cases::check_library(library, found, remarks);
    return found.text();
  };
  CHECK(faults(small_case()) == "");
  const std::string first = "observed: {hold: 8 s}\n";
  const std::string second = first + "      - written: Again.\n        observed: {hold: 6 s}\n";
  const std::string third = second + "      - written: Again.\n        observed: {hold: 7 s}\n";
  const auto text = [](const std::string& trials) {
    return with(with(small_case(), "observed: {hold: 15 s}\n", trials), "item: \"3\"\n    key: \"2\"",
                "item: \"3\"\n    key: \"1\"");
  };
  CHECK_THAT(faults(text(first)), Contains("item 3: its rule averages 3 trials, one is given"));
  CHECK_THAT(faults(text(second)), Contains("item 3: its rule averages 3 trials, 2 are given"));
  CHECK(faults(text(third)) == "");
}

TEST_CASE("style is remarked on apart from faults") {
  document::Faults faults, remarks;
  const auto library = cases::read_library(test::small_files(), {}, faults);
  cases::check_library(library, faults, remarks);
  CHECK(faults.empty());
  CHECK(remarks.size() == 3);  // three written trials of fewer than 40 words
}
