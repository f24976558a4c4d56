#include "cases/second_readers.hpp"

#include <catch2/catch.hpp>

#include "cases/library.hpp"
#include "cases/small_library.hpp"

using namespace evenhand;
using cases::SecondReading;

namespace {

/// The small case, whose keys are 1, 1 and 2, beside what readers gave.
cases::ReadCase beside(const std::vector<SecondReading>& readings, std::string text = test::small_case()) {
  document::Faults faults;
  const auto library = cases::read_library(test::small_files(std::move(text)), {}, faults);
  REQUIRE(faults.text() == "");
  return cases::beside_readers(library.cases.at("owl"), *library.instruments.at("small").in_force, readings);
}

std::vector<std::string> split_of(const std::vector<SecondReading>& readings) {
  document::Faults faults;
  const auto library = cases::read_library(test::small_files(), {}, faults);
  std::vector<std::string> ids;
  for (const auto& id : beside(readings).split(library.instruments.at("small").in_force->instrument))
    ids.push_back(id.text());
  return ids;
}

}  // namespace

TEST_CASE("an item is agreed when every second reader gave its key: one who did not is enough for a split") {
  CHECK(split_of({{"1", "1", "2"}, {"1", "1", "2"}}).empty());
  CHECK(split_of({{"1", "1", "2"}, {"1", "0", "2"}, {"1", "1", "2"}}) == std::vector<std::string>{"2"});
  // All alike, and all against the key: the key is what is in doubt.
  CHECK(split_of({{"2", "1", "2"}, {"2", "1", "2"}}) == std::vector<std::string>{"1"});
  CHECK(split_of({{"refused", "1", ""}}) == std::vector<std::string>{"1", "3"});
  const auto two = beside({{"1", "1", "2"}, {"1", "0", "2"}});
  CHECK(two.readers == 2);
  CHECK(two.items[0].agreed);
  CHECK(two.items[1].given == std::vector<std::string>{"1", "0"});
  CHECK(two.items[1].key == "1");
}

TEST_CASE("without a reader nothing is agreed, and nothing is split", "[edge]") {
  CHECK(split_of({}).empty());
  CHECK_FALSE(beside({}).items[0].agreed);
}

TEST_CASE("what shows nothing is read by nobody") {
  const auto refused = test::with(test::small_case(),
                                  "  - item: \"3\"\n    key: \"2\"\n    trials:\n      - written: She sits "
                                  "down, folds her hands and hums a whole "
                                  "song before time is called.\n        observed: {hold: 15 s}\n",
                                  "  - {item: \"3\", key: refused, why: She wants to go home.}\n");
  const auto one = beside({{"1", "1", ""}}, refused);
  CHECK_FALSE(one.items[2].read);
  CHECK(one.items[2].key == "refused");
  CHECK(one.items[2].given.empty());
}
