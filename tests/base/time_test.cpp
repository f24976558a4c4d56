#include "base/time.hpp"

#include <catch2/catch.hpp>

using namespace evenhand::base;
using evenhand::Errc;

TEST_CASE("RFC 3339 times are read with their zone and written in UTC") {
  // RFC 3339 section 5.8: 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z.
  CHECK(to_rfc3339(parse_rfc3339("1996-12-19T16:39:57-08:00").value()) == "1996-12-20T00:39:57Z");
  CHECK(to_rfc3339(parse_rfc3339("1985-04-12T23:20:50.52Z").value()) == "1985-04-12T23:20:50.520Z");
  CHECK(to_date(parse_rfc3339("2026-09-01T00:10:00+05:45").value()) == "2026-08-31");
}

TEST_CASE("what is no time is refused with an example", "[edge]") {
  for (const char* text :
       {"", "yesterday", "2026-13-01T00:00:00Z", "2026-02-30T00:00:00Z", "2026-01-01", "2026-01-01T25:00:00Z",
        "2026-01-01T00:00:00", "2026-01-01T00:00:00Zx", "-026-01-01T00:00:00Z", "2026-01-01T00:00:00.Z"}) {
    INFO(text);
    const auto time = parse_rfc3339(text);
    REQUIRE_FALSE(time.has_value());
    CHECK(time.error().code == Errc::invalid);
  }
}
