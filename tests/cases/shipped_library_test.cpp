// The library that comes with the program is true: every file reads, every key follows from what can be
// seen, and the style is clean. What is printed when it fails is what an author has to mend.

#include <algorithm>
#include <fstream>
#include <iterator>
#include <set>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "cases/built_in.hpp"
#include "cases/check_case.hpp"
#include "cases/coverage.hpp"
#include "cases/library.hpp"
#include "support/shipped.hpp"

using namespace evenhand;

TEST_CASE("the shipped library has no fault") {
  document::Faults faults, remarks;
  const auto library = cases::read_library(cases::built_in_files(), {}, faults);
  cases::check_library(library, faults, remarks);
  CHECK(faults.text() == "");
  CHECK(remarks.text() == "");
  CHECK(library.instruments.contains("pediatric-balance"));
}

TEST_CASE("the case in the guide for authors has no fault") {
  std::ifstream file("cases/README.md");  // tests run at the top of the source tree
  REQUIRE(file.good());
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  const std::string open = "```yaml\n";
  const auto begin = text.find(open);
  REQUIRE(begin != std::string::npos);
  const auto end = text.find("```\n", begin + open.size());
  document::Faults faults, remarks;
  const std::vector<cases::SourceFile> guide{
      {"pb-wren.yaml", text.substr(begin + open.size(), end - begin - open.size())}};
  const auto library = cases::read_library(cases::built_in_files(), guide, faults);
  cases::check_library(library, faults, remarks);
  CHECK(faults.text() == "");
  CHECK(remarks.text() == "");
  CHECK(library.cases.contains("pb-wren"));
}

TEST_CASE("the shipped children exercise every level of every item, and every threshold from both sides") {
  const auto coverage = cases::coverage_of(test::shipped_library(), InstrumentId("pediatric-balance"));
  const auto& instrument = test::shipped_scale().instrument;
  CHECK(coverage.cases >= 10);
  REQUIRE(coverage.items.size() == 14);
  for (const auto& item : coverage.items) {
    INFO("item " << instrument.items[item.item].id);
    REQUIRE(item.levels.size() == 5);
    for (std::size_t level = 0; level < item.levels.size(); ++level) {
      INFO("level " << instrument.items[item.item].levels[level].label);
      CHECK(item.levels[level] > 0);
    }
    for (const auto& threshold : item.thresholds) {
      INFO(instrument.observations[threshold.observation].id << " at " << threshold.at);
      CHECK(threshold.from_both_sides());
    }
  }
}

TEST_CASE(
    "the shipped children do all items, are 5 to 15 years old, and what is timed is seen in real time") {
  // The items that the watch is run for are those that observe a duration.
  const auto& scale = test::shipped_library().instruments.at("pediatric-balance").by_default->instrument;
  std::set<std::string> timed_items;
  for (const auto& item : scale.items)
    if (std::ranges::any_of(item.observe, [&](const auto& seen) {
          return scale.observations[seen].kind == instrument::Kind::duration;
        }))
      timed_items.insert(item.id);
  CHECK(timed_items == std::set<std::string>{"4", "5", "6", "7", "8", "9", "10", "13"});
  std::vector<std::string> only_read;
  std::set<std::string> played;
  std::size_t performances = 0;
  std::set<double> ages;
  for (const auto& [id, the_case] : test::shipped_library().cases) {
    if (the_case.instrument.text() != "pediatric-balance") continue;
    INFO(id);
    CHECK(the_case.items.size() == 14);
    ages.insert(the_case.child.age);
    for (const auto& item : the_case.items) {
      if (std::ranges::any_of(item.trials, [](const auto& trial) { return trial.timed(); }))
        played.insert(item.id.text());
      if (!timed_items.contains(item.id.text()) || item.trials.empty()) continue;
      for (std::size_t i = 0; i < item.trials.size(); ++i) {
        ++performances;
        if (!item.trials[i].timed())
          only_read.push_back(fmt::format("{} item {} trial {}", id, item.id.text(), i + 1));
      }
    }
  }
  CHECK(*ages.begin() == 5.0);
  CHECK(*ages.rbegin() == 15.0);
  CHECK(performances > 200);
  // Going from seat to seat is told in words only.
  CHECK(played ==
        std::set<std::string>{"1", "2", "4", "5", "6", "7", "8", "9", "10", "11", "12", "13", "14"});
  CHECK(only_read == std::vector<std::string>{});
}
