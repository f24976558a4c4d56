#include <atomic>
#include <future>
#include <stdexcept>

#include <catch2/catch.hpp>

#include "server/desk.hpp"
#include "server/pool.hpp"
#include "server/support.hpp"
#include "store/accounts.hpp"

using namespace evenhand;
using namespace evenhand::server;
using namespace evenhand::test;

namespace {

struct Told {
  std::promise<Response> promise{};
  Response wait() { return promise.get_future().get(); }
};

Errand errand(Told& told, std::function<Response(store::Store&)> visit) {
  return {
      .visit = [visit = std::move(visit)](store::Store& store) -> Outcome { return visit(store); },
      .done = [&told](Outcome outcome) { told.promise.set_value(std::get<Response>(std::move(outcome))); },
      .failed = [](const std::exception_ptr&) -> Outcome { return refusal(500, "fault", "."); }};
}

Response know(store::Store& store, const std::string& rater, unsigned status) {
  if (!store.ensure_person(RaterId(rater), base::Time())) return refusal(500, "fault", ".");
  return json("{}", status);
}

bool is_known(store::Store& store, const std::string& rater) {
  return store.counts(RaterId(rater)).has_value();
}

}  // namespace

TEST_CASE("what an errand wrote is on the disk when its answer is told") {
  House house;
  Desk desk(house.store(), 10);
  bool there = false;
  std::promise<void> told;
  REQUIRE(desk.put({.visit = [](store::Store& store) -> Outcome { return know(store, "ann", 200); },
                    .done =
                        [&](Outcome) {
                          auto other = house.store();
                          there = is_known(other, "ann");
                          told.set_value();
                        },
                    .failed = [](const std::exception_ptr&) -> Outcome { return Response(); }}));
  told.get_future().get();
  CHECK(there);
}

TEST_CASE("of a batch, those that were refused or failed wrote nothing, and the others all") {
  House house;
  Desk desk(house.store(), 10);
  std::promise<void> go;
  Told first, kept, refused, thrown, last;
  // Everything after the first is one batch.
  REQUIRE(desk.put(errand(first, [&](store::Store&) {
    go.get_future().wait();
    return json("{}");
  })));
  REQUIRE(desk.put(errand(kept, [](store::Store& store) { return know(store, "kept", 200); })));
  REQUIRE(desk.put(errand(refused, [](store::Store& store) { return know(store, "refused", 409); })));
  REQUIRE(desk.put(errand(thrown, [](store::Store& store) -> Response {
    know(store, "thrown", 200);
    throw std::runtime_error("a bug");
  })));
  REQUIRE(desk.put(errand(last, [](store::Store& store) { return know(store, "last", 201); })));
  go.set_value();
  first.wait();
  CHECK(kept.wait().status == 200);
  CHECK(refused.wait().status == 409);
  CHECK(thrown.wait().status == 500);
  CHECK(last.wait().status == 201);
  auto store = house.store();
  CHECK(is_known(store, "kept"));
  CHECK_FALSE(is_known(store, "refused"));
  CHECK_FALSE(is_known(store, "thrown"));
  CHECK(is_known(store, "last"));
}

TEST_CASE("when too many wait, the next is sent away, and what waits is done before the desk ends") {
  House house;
  std::promise<void> go;
  std::vector<Told> told(4);
  Told away;
  {
    Desk desk(house.store(), 3);
    std::promise<void> begun;
    REQUIRE(desk.put(errand(told[0], [&](store::Store&) {
      begun.set_value();
      go.get_future().wait();
      return json("{}");
    })));
    begun.get_future().wait();
    for (std::size_t i = 1; i < 4; ++i)
      REQUIRE(desk.put(errand(told[i], [](store::Store&) { return json("{}"); })));
    CHECK_FALSE(desk.put(errand(away, [](store::Store&) { return json("{}"); })));
    go.set_value();
  }
  for (auto& one : told) CHECK(one.wait().status == 200);
}

TEST_CASE("a pool does what waits, and no more than fits waits") {
  std::atomic<int> done = 0;
  std::promise<void> go;
  const auto gate = go.get_future().share();
  {
    Pool pool(2, 3);
    std::atomic<int> begun = 0;
    for (int i = 0; i < 2; ++i)
      REQUIRE(pool.put([&] {
        ++begun;
        gate.wait();
        ++done;
      }));
    while (begun < 2) std::this_thread::yield();
    for (int i = 0; i < 3; ++i) REQUIRE(pool.put([&] { ++done; }));
    CHECK_FALSE(pool.put([&] { ++done; }));
    go.set_value();
  }
  CHECK(done == 5);
}
