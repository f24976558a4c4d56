#include "cases/coverage.hpp"

#include <catch2/catch.hpp>

#include "cases/small_library.hpp"

using namespace evenhand;
using test::small_case;
using test::with;

namespace {

// Owl and Wren: the same child but for item 3, held 9 s.
cases::Library library() {
  auto files = test::small_files();
  auto wren = with(small_case(), "id: owl", "id: wren");
  wren = with(with(wren, "hold: 15 s", "hold: 9 s"), "item: \"3\"\n    key: \"2\"",
              "item: \"3\"\n    key: \"1\"");
  files.push_back({"wren.yaml", wren});
  files.push_back({"short.yaml", R"(format: evenhand/set-1
id: short
title: Short
mode: practice
entries: [{case: wren, items: ["3"]}]
)"});
  document::Faults faults;
  auto read = cases::read_library(files, {}, faults);
  REQUIRE(faults.text() == "");
  return read;
}

const cases::ThresholdCoverage& threshold(const cases::ItemCoverage& item, double at) {
  for (const auto& each : item.thresholds)
    if (each.at == at) return each;
  FAIL("no such threshold");
  return item.thresholds.front();
}

}  // namespace

TEST_CASE("coverage counts the cases at every level") {
  const auto coverage = cases::coverage_of(library(), InstrumentId("small"));
  CHECK(coverage.cases == 2);
  CHECK(coverage.items[0].levels == std::vector<std::size_t>{0, 2, 0});
  CHECK(coverage.items[1].levels == std::vector<std::size_t>{0, 2, 0});
  CHECK(coverage.items[2].levels == std::vector<std::size_t>{1, 1, 0});
  CHECK(coverage.items[2].skipped == 0);
  CHECK(coverage.items[2].without_score == 0);
}

TEST_CASE("coverage says from which sides a threshold is approached") {
  const auto coverage = cases::coverage_of(library(), InstrumentId("small"));
  const auto& ten = threshold(coverage.items[2], 10.0);
  CHECK(ten.near_below == 1);  // 9 s
  CHECK(ten.near_above == 0);  // 15 s is farther than a quarter of 10 s
  CHECK(ten.nearest_below == 9.0);
  CHECK(ten.nearest_above == 15.0);
  CHECK_FALSE(ten.from_both_sides());
  // Item 2, both cases: 5 taps left and 9 right.
  const auto& eight = threshold(coverage.items[1], 8.0);
  CHECK(eight.near_above == 2);
  CHECK(eight.near_below == 0);
  const auto& four = threshold(coverage.items[1], 4.0);
  CHECK(four.near_above == 2);
  CHECK_FALSE(four.nearest_below);
}

TEST_CASE("a value on a threshold lies on the side of its own level") {
  document::Faults faults;
  const auto read =
      cases::read_library(test::small_files(with(small_case(), "hold: 15 s", "hold: 10 s")), {}, faults);
  const auto coverage = cases::coverage_of(read, InstrumentId("small"));
  CHECK(coverage.items[2].levels == std::vector<std::size_t>{1, 0, 0});
  CHECK(threshold(coverage.items[2], 10.0).near_above == 1);
  CHECK(threshold(coverage.items[2], 10.0).near_below == 0);
}

TEST_CASE("coverage counts what the skip rule fills and what has no score apart") {
  auto text = with(with(small_case(), "event: near-loss, ", "event: sways, "), "item: \"1\"\n    key: \"1\"",
                   "item: \"1\"\n    key: \"2\"");
  const auto trials = text.find("    key: \"2\"\n    trials:\n      - written: She sits");
  REQUIRE(trials != std::string::npos);
  text.resize(trials);
  const auto items = [&](const std::string& key) {
    document::Faults faults;
    const auto read = cases::read_library(test::small_files(text + key), {}, faults);
    REQUIRE(faults.text() == "");
    return cases::coverage_of(read, InstrumentId("small")).items;
  };
  CHECK(items("    key: skip-rule\n")[2].skipped == 1);
  CHECK(items("    key: skip-rule\n")[2].levels == std::vector<std::size_t>{0, 0, 0});
  CHECK(items("    key: refused\n    why: She runs off.\n")[2].without_score == 1);
}

TEST_CASE("coverage names the rulings that decide, and those that never do") {
  document::Faults faults;
  const auto open = with(small_case(), "at: 6.0, event: foot-moves", "at: 9.0, event: foot-moves");
  const auto read = cases::read_library(test::small_files(open), {}, faults);
  const auto coverage = cases::coverage_of(read, InstrumentId("small"));
  REQUIRE(coverage.items[0].rulings.size() == 1);
  CHECK(coverage.items[0].rulings[0].trials == 1);
  CHECK(coverage.items[0].gray == 0);  // the trial that decides is another
  CHECK(cases::coverage_of(library(), InstrumentId("small")).items[0].rulings[0].trials == 0);
}

TEST_CASE("the coverage of a set is that of its items") {
  const auto read = library();
  const auto coverage = cases::coverage_of(read, read.sets.at("short"));
  CHECK(coverage.cases == 1);
  CHECK(coverage.items[0].levels == std::vector<std::size_t>{0, 0, 0});
  CHECK(coverage.items[2].levels == std::vector<std::size_t>{0, 1, 0});
}

TEST_CASE("the table for the terminal says what is there and what is missing") {
  const auto read = library();
  const auto text =
      cases::to_text(cases::coverage_of(read, InstrumentId("small")), *read.instruments.at("small").in_force);
  CHECK_THAT(text, Catch::Contains("Small scale: 2 cases; how many of them score so\n"));
  CHECK_THAT(text, Catch::Contains("    3 Sit                            2:1   1:1   0:0   "));
  CHECK_THAT(text, Catch::Contains(
                       "    3 hold           10 s  below: 1 near (nearest 9 s)       above: 0 near (nearest "
                       "15 s)      one side only\n"));
  CHECK_THAT(text, Catch::Contains("    1 seen: none; never seen: 1-a\n"));
}
