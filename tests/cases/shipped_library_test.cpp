// The library that comes with the program is true: every file reads, every key follows from what can be
// seen, and the style is clean. What is printed when it fails is what an author has to mend.

#include <fstream>
#include <iterator>
#include <string>

#include <catch2/catch.hpp>

#include "cases/built_in.hpp"
#include "cases/check_case.hpp"
#include "cases/library.hpp"

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
