// How long a case and an answer take, without a socket and without the commit: run by hand in a release build
// with
//   build/release/tests/server/server_api_test "[speed]"
#include <algorithm>
#include <chrono>
#include <iostream>

#include "server/api_support.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// Milliseconds of each call, in order of length.
class Times {
 public:
  template <class F>
  auto of(F f) {
    const auto from = std::chrono::steady_clock::now();
    auto result = f();
    all_.push_back(
        std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - from).count());
    return result;
  }
  double share(double at) {
    std::ranges::sort(all_);
    return all_[static_cast<std::size_t>(at * static_cast<double>(all_.size() - 1))];
  }
  void say(const std::string& what) {
    std::cout << what << ": n " << all_.size() << ", median " << share(0.5) << " ms, 99th percentile "
              << share(0.99) << " ms\n";
  }

 private:
  std::vector<double> all_;
};

}  // namespace

TEST_CASE("cases, answers, learning and progress are quick", "[.][speed]") {
  Site site;
  Times cases, answers, sittings, learning, progress;
  const auto id = site.sit("ann", "pb-all");
  const auto sitting = site.get("ann", "/api/sittings/" + id).body;
  for (const auto& step : sitting.at("steps")) {
    const std::string one = step.at("case"), item = step.at("item");
    cases.of([&] { return site.get("ann", "/api/sittings/" + id + "/cases/" + one); });
    auto body = given("2");
    body["sureness"] = 0.5;
    // The store's own commit is left out: the desk shares it among all who wait.
    site.store().together([&] {
      CHECK(answers.of([&] { return site.put("ann", Site::at(id, one, item), body); }).status == 200);
    });
    sittings.of([&] { return site.get("ann", "/api/sittings/" + id); });
  }
  site.post("ann", "/api/sittings/" + id + "/finish");
  for (int n = 0; n < 5; ++n)
    for (const std::string item : {"1", "4", "9", "14"})
      learning.of([&] {
        return site.get("ann", "/api/learn/pediatric-balance/" + item + "?seed=" + std::to_string(n));
      });
  for (int n = 0; n < 20; ++n) progress.of([&] { return site.get("ann", "/api/progress"); });
  cases.say("a case (parsed again by the test)");
  answers.say("an answer, of 238 items");
  sittings.say("a sitting of 238 items");
  learning.say("learning an item");
  progress.say("progress over a sitting of 238 items");
  CHECK(cases.share(0.5) < 2.0);
  CHECK(answers.share(0.5) < 2.0);
}
