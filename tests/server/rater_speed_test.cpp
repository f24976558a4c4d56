// How long a rater's page and a sign-off keep everybody else waiting, without a socket: run by hand in a
// release build with
//   build/release/tests/server/server_test "[speed]"
#include <algorithm>
#include <chrono>
#include <future>
#include <iostream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "server/large_group.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// What somebody else waits, who asks for next to nothing while `asked` is under way.
struct Waits {
  double longest = 0.0;
  double whole = 0.0;  ///< until the answer was there
  Answer answer;
};

Waits beside(House& house, Browser& browser, const std::string& method, const std::string& at,
             const Json& body) {
  Waits waits;
  const auto from = std::chrono::steady_clock::now();
  auto asked = std::async(std::launch::async,
                          [&] { return browser.ask(method, at, body.is_null() ? "" : body.dump()); });
  do {
    const auto one = std::chrono::steady_clock::now();
    REQUIRE(house.ask("GET", "/health").status == 200);
    waits.longest = std::max(waits.longest, milliseconds(one));
  } while (asked.wait_for(std::chrono::milliseconds(1)) != std::future_status::ready);
  waits.whole = milliseconds(from);
  waits.answer = asked.get();
  return waits;
}

void say(const std::string& what, std::vector<Waits> all) {
  std::ranges::sort(all, {}, &Waits::longest);
  std::cout << what << ": others wait " << all[all.size() / 2].longest << " ms in the median, at most "
            << all.back().longest << " ms";
  std::ranges::sort(all, {}, &Waits::whole);
  std::cout << "; the answer takes " << all[all.size() / 2].whole << " ms in the median\n";
}

}  // namespace

TEST_CASE("what others wait beside the page and the sign-off of one of 300 raters", "[.][speed]") {
  House house({}, large_library());
  auto ines = instructor(house);
  const auto group = large_group(house, ines, raters_or(300));
  const std::string at = "/api/groups/" + group.id + "/raters/r";
  std::vector<Waits> pages, signed_off;
  for (int n = 0; n < 9; ++n) {
    const auto rater = at + std::to_string(n);
    pages.push_back(beside(house, ines, "GET", rater, {}));
    REQUIRE(pages.back().answer.status == 200);
    Json body{{"name", "Ines Faber, PT"}};
    body.update(pages.back().answer.body().at("checks").at("rests_on"));
    signed_off.push_back(beside(house, ines, "POST", rater + "/sign-offs", body));
    INFO(signed_off.back().answer.text);
    REQUIRE(signed_off.back().answer.status == 201);
  }
  say("the page", pages);
  say("the sign-off", signed_off);
}
