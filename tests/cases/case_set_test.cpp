#include "cases/case_set.hpp"

#include <string>

#include <catch2/catch.hpp>

#include "cases/small_library.hpp"

using namespace evenhand;
using Catch::Contains;
using test::small_case;
using test::with;

namespace {

struct Read {
  cases::Library library;
  std::string faults;
};

Read read_set(std::string set, std::string case_text = small_case()) {
  auto files = test::small_files(std::move(case_text));
  files.push_back({"warm-up.yaml", std::move(set)});
  document::Faults faults;
  auto library = cases::read_library(files, {}, faults);
  return {std::move(library), faults.text()};
}

const std::string small_set = R"(format: evenhand/set-1
id: warm-up
title: Warm up
mode: practice
entries:
  - {case: owl, items: ["3", "1"]}
)";

}  // namespace

TEST_CASE("a set names cases and items, kept in the order of the instrument") {
  const auto read = read_set(small_set);
  CHECK(read.faults == "");
  const auto& set = read.library.sets.at("warm-up");
  CHECK(set.title == "Warm up");
  CHECK(set.mode == cases::Mode::practice);
  CHECK(set.instrument == InstrumentId("small"));
  REQUIRE(set.entries.size() == 1);
  CHECK(set.entries[0].items == std::vector<ItemId>{ItemId("1"), ItemId("3")});
}

TEST_CASE("an entry without items takes them all") {
  const auto read = read_set(with(small_set, ", items: [\"3\", \"1\"]", ""));
  CHECK(read.faults == "");
  CHECK(read.library.sets.at("warm-up").entries[0].items.size() == 3);
}

TEST_CASE("a set refuses what it does not know and what it has already", "[edge]") {
  CHECK_THAT(read_set(with(small_set, "case: owl", "case: olw")).faults,
             Contains("warm-up.yaml:6:6: there is no case `olw`; did you mean `owl`?"));
  CHECK_THAT(read_set(with(small_set, "\"3\", \"1\"", "\"3\", \"7\"")).faults,
             Contains("`owl` has no item `7`"));
  CHECK_THAT(read_set(with(small_set, "\"3\", \"1\"", "\"3\", \"3\"")).faults,
             Contains("item 3 is named twice"));
  CHECK_THAT(read_set(small_set + "  - {case: owl}\n").faults, Contains("`owl` is in the set already"));
  CHECK_THAT(read_set(with(small_set, "mode: practice", "mode: practise")).faults,
             Contains("did you mean `practice`?"));
  CHECK_THAT(read_set(with(small_set, "id: warm-up", "id: warm")).faults,
             Contains("name the file as the set"));
}

TEST_CASE("a set says when a case that it names is at fault", "[edge]") {
  CHECK_THAT(read_set(small_set, with(small_case(), "setting:", "seting:")).faults,
             Contains("warm-up.yaml:6:6: the file of case `owl` is at fault; mend that first"));
}

TEST_CASE("a case that no second reader scored decides about nobody", "[edge]") {
  for (const std::string mode : {"skills-check", "calibration"}) {
    const auto set = with(small_set, "mode: practice", "mode: " + mode);
    CHECK_THAT(read_set(set).faults,
               Contains("`owl` was scored by no second reader and is for practice only"));
    CHECK(read_set(set, with(small_case(), "reviewed_by: 0", "reviewed_by: 1")).faults == "");
  }
}

TEST_CASE("a set says that it was withdrawn") {
  CHECK(read_set(with(small_set, "mode: practice", "mode: practice\nretired: yes"))
            .library.sets.at("warm-up")
            .retired);
  CHECK_FALSE(read_set(small_set).library.sets.at("warm-up").retired);
}

TEST_CASE("a demonstration may show a skills check with cases that no second reader scored") {
  const auto read = read_set(with(small_set, "mode: practice", "mode: skills-check\ndemonstration: yes"));
  CHECK(read.faults == "");
  CHECK(read.library.sets.at("warm-up").demonstration);
  CHECK_FALSE(read_set(small_set).library.sets.at("warm-up").demonstration);
}
