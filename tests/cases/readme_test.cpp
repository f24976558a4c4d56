#include <fstream>
#include <iterator>
#include <string>

#include <catch2/catch.hpp>

#include "cases/built_in.hpp"
#include "cases/library.hpp"

using namespace evenhand;
using Catch::Contains;

namespace {

// Tests run at the top of the source tree.
std::string readme() {
  std::ifstream file("cases/README.md");
  REQUIRE(file.good());
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

TEST_CASE("the guide for authors names every word of the vocabulary and every observation") {
  document::Faults faults;
  const auto library = cases::read_library(cases::built_in_files(), {}, faults);
  REQUIRE(library.instruments.contains("pediatric-balance"));
  const auto text = readme();
  for (const auto& id : library.vocabulary.ids()) CHECK_THAT(text, Contains("`" + id + "`"));
  const auto& instrument = library.instruments.at("pediatric-balance").by_default->instrument;
  for (const auto& observation : instrument.observations) {
    CHECK_THAT(text, Contains("| `" + observation.id + "` |"));
    for (const auto& value : observation.values) CHECK_THAT(text, Contains("`" + value.id + "`"));
  }
  for (const auto& item : instrument.items)
    CHECK_THAT(text, Contains("| " + item.id + " " + item.name + " |"));
}
