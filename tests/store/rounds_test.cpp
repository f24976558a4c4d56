#include "store/rounds.hpp"

#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Round;

namespace {

Round round_of(const std::string& id, int opened = 1) {
  return {RoundId(id), "Round " + id, SetId("first-steps"), minute(opened)};
}

}  // namespace

TEST_CASE("a round opens, is found, and closes once") {
  const Folder folder;
  const std::string path = folder / "a.db";
  const RoundId id("spring");
  {
    auto store = open_store(path);
    REQUIRE(add_round(store, round_of("spring", 5)));
    REQUIRE(add_round(store, round_of("winter", 1)));
    CHECK(round(store, id).value() == round_of("spring", 5));
  }
  auto store = open_store(path);
  REQUIRE(close_round(store, id, minute(9)));
  REQUIRE(close_round(store, id, minute(12)));
  REQUIRE(add_round(store, round_of("spring", 5)));  // said again
  auto closed = round_of("spring", 5);
  closed.closed = minute(9);
  CHECK(rounds(store) == std::vector{round_of("winter", 1), closed});
}

TEST_CASE("a round has an id of its own, and closes after it opened", "[edge]") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  REQUIRE(add_round(store, round_of("spring")));
  CHECK(add_round(store, round_of("spring", 2)).error().code == Errc::conflict);
  CHECK(close_round(store, RoundId("spring"), minute(0)).error().code == Errc::invalid);
  CHECK(close_round(store, RoundId("fall"), minute(9)).error().code == Errc::not_found);
  CHECK(round(store, RoundId("fall")).error().code == Errc::not_found);
  for (auto spoil : {+[](Round& r) { r.id = {}; }, +[](Round& r) { r.title = ""; },
                     +[](Round& r) { r.set = {}; }, +[](Round& r) { r.closed = minute(2); }}) {
    auto bad = round_of("fall");
    spoil(bad);
    CHECK(add_round(store, bad).error().code == Errc::invalid);
  }
  CHECK(rounds(store).size() == 1);
}

TEST_CASE("a closed round takes no sitting and no answer, and says so") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  REQUIRE(add_round(store, round_of("spring")));
  const auto in_round = [](const std::string& rater, const std::string& id, const std::string& round) {
    auto sitting = sitting_of(rater, id);
    sitting.round = RoundId(round);
    return sitting;
  };
  REQUIRE(store.begin_sitting(in_round("ada", "s-1", "spring")));
  REQUIRE(store.append_answer(SittingId("s-1"), answer_of("8", "4")));
  REQUIRE(close_round(store, RoundId("spring"), minute(9)));

  const auto late = store.append_answer(SittingId("s-1"), answer_of("9", "4"));
  REQUIRE_FALSE(late);
  CHECK(late.error().code == Errc::conflict);
  CHECK_THAT(late.error().message, Contains("Round spring") && Contains("closed 2026-09-01T08:09:00Z"));
  CHECK(store.append_answer(SittingId("s-1"), answer_of("8", "4")));  // heard no reply, said again
  CHECK(store.begin_sitting(in_round("ben", "s-2", "spring")).error().code == Errc::conflict);
  CHECK(store.begin_sitting(in_round("ada", "s-1", "spring")));
  CHECK(store.finish_sitting(SittingId("s-1"), minute(10)));
  CHECK(store.revisions(SittingId("s-1"))->size() == 1);
  // A round that was never opened here holds nothing.
  CHECK(store.begin_sitting(in_round("ben", "s-3", "elsewhere")));
}
