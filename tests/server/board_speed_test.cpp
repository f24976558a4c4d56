// How long the board of a large group takes, without a socket: run by hand in a release build with
//   build/release/tests/server/server_test "[speed]"
#include <algorithm>
#include <chrono>
#include <iostream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "server/large_group.hpp"

using namespace evenhand;
using namespace evenhand::test;

TEST_CASE("the board of 2,000 raters and 200 cases", "[.][speed]") {
  const std::size_t count = raters_or(2000);
  House house({}, large_library());
  auto ines = instructor(house);
  auto from = std::chrono::steady_clock::now();
  const auto group = large_group(house, ines, count);
  std::cout << "filled in " << milliseconds(from) / 1000.0 << " s\n" << std::flush;
  const std::string at = "/api/groups/" + group.id + "/board";
  std::size_t looks = 0;
  double longest = 0.0;
  from = std::chrono::steady_clock::now();
  for (std::size_t pending = 1; pending > 0; ++looks) {
    const auto one = std::chrono::steady_clock::now();
    const auto answer = ines.get(at);
    longest = std::max(longest, milliseconds(one));
    REQUIRE(answer.status == 200);
    pending = answer.body().at("pending");
  }
  std::cout << "worked out from nothing in " << milliseconds(from) / 1000.0 << " s, " << looks
            << " looks, the longest " << longest << " ms\n";
  std::vector<double> times;
  std::size_t bytes = 0;
  for (int n = 0; n < 9; ++n) {
    const auto one = std::chrono::steady_clock::now();
    bytes = ines.get(at).text.size();
    times.push_back(milliseconds(one));
  }
  std::ranges::sort(times);
  std::cout << "kept ready: median " << times[4] << " ms, longest " << times[8] << " ms, " << bytes
            << " bytes\n";
}
