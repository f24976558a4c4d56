#include "competency/read_standard.hpp"

#include <fstream>
#include <sstream>
#include <string>

#include <catch2/catch.hpp>

namespace evenhand::competency {
namespace {

std::string shipped() {
  std::ifstream in("cases/standards/default.yaml");
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

/// The shipped standard with one piece of text replaced, and the faults that gives.
std::string faults_with(const std::string& from, const std::string& to) {
  std::string text = shipped();
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  text.replace(at, from.size(), to);
  document::Faults faults;
  const auto standard = read_standard(text, "s.yaml", faults);
  CHECK(standard.has_value() == faults.empty());
  return faults.text();
}

bool says(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("the shipped standard is the one the program falls back on") {
  document::Faults faults;
  const auto standard = read_standard(shipped(), "cases/standards/default.yaml", faults);
  INFO(faults.text());
  REQUIRE(standard);
  CHECK(*standard == Standard{});
  CHECK(standard->looks == std::vector<std::size_t>{16, 24, 32});
  CHECK(standard->levels == std::vector<double>{0.97, 0.985});
}

TEST_CASE("a standard that leaves a choice open is refused") {
  CHECK(says(faults_with("  correlation_floor: 0.10\n", ""), "correlation_floor"));
  CHECK(says(faults_with("second_readers: 2\n", ""), "second_readers"));
}

TEST_CASE("a misspelled key is refused with the nearest known one", "[edge]") {
  const auto text = faults_with("missed_share", "mised_share");
  CHECK(says(text, "mised_share"));
  CHECK(says(text, "did you mean"));
}

TEST_CASE("numbers that contradict each other are refused with a mend", "[edge]") {
  CHECK(says(faults_with("competent: 0.90", "competent: 0.75"), "does not lie above `not_acceptable`"));
  CHECK(says(faults_with("competent: 0.90", "competent: 0.90\n  panel: 0.88"),
             "above what the key panel reaches itself"));
  CHECK(faults_with("competent: 0.90", "competent: 0.90\n  panel: 0.94").empty());
  CHECK(says(faults_with("[16, 24, 32]", "[16, 32, 24]"), "the looks do not ascend"));
  CHECK(says(faults_with("[16, 24, 32]", "[]"), "there is no look"));
  CHECK(says(faults_with("one_attempt: 0.97", "one_attempt: 0.03"), "no level to decide by"));
  CHECK(says(faults_with("two_attempts: 0.985", "two_attempts: 0.95"), "lower level than one"));
  CHECK(says(faults_with("points: 2", "points: 0"), "0 points"));
  CHECK(says(faults_with("missed_share: 0.5", "missed_share: 0"), "every item would stand out"));
  CHECK(says(faults_with("not_acceptable: 0.80", "not_acceptable: 80"), "not_acceptable"));
}

TEST_CASE("a file of another kind is refused", "[edge]") {
  CHECK(says(faults_with("evenhand/standard-1", "evenhand/set-1"), "s.yaml"));
}

}  // namespace evenhand::competency
