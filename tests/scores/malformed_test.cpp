// Whatever comes in, the answer is a table or faults with a file and a line: no crash, no half a table.
#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "scores/read_long.hpp"
#include "scores/read_wide.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

const std::string good =
    "rater,case,item,score,status,seconds\nann,c1,1,3,,12.5\nben,c1,1,4,observed,\nann,c2,1,,refused,\n";

void refuse_or_read(const std::string& bytes) {
  for (const auto& read : {read_long(bytes, "x.csv"), read_wide(bytes, "x.csv", Wide::items),
                           read_wide(bytes, "x.csv", Wide::raters)})
    if (!read) {
      REQUIRE_FALSE(read.error().empty());
      REQUIRE(read.error().text().starts_with("x.csv"));
    }
}

}  // namespace

TEST_CASE("a file that is cut off anywhere is read or refused", "[edge]") {
  for (std::size_t length = 0; length <= good.size(); ++length) refuse_or_read(good.substr(0, length));
}

TEST_CASE("a doubled file is refused", "[edge]") {
  const auto read = read_long(good + good, "x.csv");
  REQUIRE_FALSE(read);
}

TEST_CASE("bytes that are no text are refused with their line", "[edge]") {
  for (const std::string& bad : {std::string("\xff\xfe"), std::string("\0", 1), std::string("\x80")}) {
    const auto read = read_long("rater,case,score\nann,c" + bad + ",3\n", "x.csv");
    REQUIRE_FALSE(read);
    CHECK(read.error().text().find("x.csv:2") != std::string::npos);
  }
}

TEST_CASE("random bytes and random damage do no harm", "[property]") {
  base::Random random(5);
  for (int round = 0; round < 5000; ++round) {
    std::string bytes;
    if (random.chance(0.5)) {
      bytes = good;
      for (int i = 0; i < 3; ++i) bytes[random.index(bytes.size())] = static_cast<char>(random.index(256));
    } else {
      for (std::size_t i = 0; i < random.index(80); ++i) bytes += static_cast<char>(random.index(256));
    }
    refuse_or_read(bytes);
  }
}
