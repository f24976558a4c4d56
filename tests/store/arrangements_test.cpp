#include "store/arrangements.hpp"

#include "site.hpp"
#include "store/assignments.hpp"
#include "store/checked_scores.hpp"
#include "store/person_data.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;
using store::Arrangement;
using store::Role;

namespace {

/// A group of Cyd with Ada and Ben, and a check that is open from minute 10 to 20.
struct Classroom {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);

  Classroom() {
    bool done = add_account(store, account_of("cyd", Role::instructor)) &&
                add_group(store, group_of("cyd", "g")) && add_account(store, account_of("eve"));
    for (const std::string name : {"ada", "ben"})
      done = done && add_account(store, account_of(name)) &&
             join_group(store, GroupId("g"), RaterId(name), minute(1));
    done = done && add_assignment(store, {.id = "check",
                                          .group = GroupId("g"),
                                          .set = SetId("first-steps"),
                                          .mode = store::Mode::skills_check,
                                          .opens = minute(10),
                                          .closes = minute(20),
                                          .made = minute(1)});
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }
  static Arrangement with(const std::string& rater, std::chrono::minutes more, bool described, int at) {
    return {GroupId("g"), RaterId(rater), more, described, RaterId("cyd"), minute(at)};
  }
  base::Time closes_for(const std::string& rater) {
    return assignments_of_member(store, RaterId(rater)).at(0).closes;
  }
};

}  // namespace

TEST_CASE("what was arranged last with a member is in force, and nobody else is concerned") {
  Classroom room;
  CHECK_FALSE(arrangement_of(room.store, GroupId("g"), RaterId("ada")));
  REQUIRE(arrange(room.store, Classroom::with("ada", 5min, true, 2)));
  CHECK(arrangement_of(room.store, GroupId("g"), RaterId("ada")) == Classroom::with("ada", 5min, true, 2));
  CHECK(accepts_described(room.store, RaterId("ada")));
  CHECK_FALSE(accepts_described(room.store, RaterId("ben")));
  CHECK(room.closes_for("ada") == minute(25));
  CHECK(assignments_of_member(room.store, RaterId("ada")).at(0).more_time == 5min);
  CHECK(room.closes_for("ben") == minute(20));
  CHECK(assignments_of_group(room.store, GroupId("g")).at(0).closes == minute(20));
  CHECK(arrangements_in(room.store, GroupId("g")).size() == 1);
  REQUIRE(arrange(room.store, Classroom::with("ada", 0min, false, 3)));
  CHECK(room.closes_for("ada") == minute(20));
  CHECK_FALSE(accepts_described(room.store, RaterId("ada")));
  CHECK(arrangements_in(room.store, GroupId("g")).empty());
  // The same again is nothing new.
  REQUIRE(arrange(room.store, Classroom::with("ada", 0min, false, 4)));
  REQUIRE(arrange(room.store, Classroom::with("ben", 0min, false, 4)));
  CHECK(arrangements_about(room.store, RaterId("ada")).size() == 2);
  CHECK(arrangements_about(room.store, RaterId("cyd")).size() == 2);
  CHECK(arrangements_about(room.store, RaterId("ben")).empty());
}

TEST_CASE("more time lets a sitting that was begun go on, and the check counts when that is over") {
  Classroom room;
  for (const std::string name : {"ada", "ben"}) {
    auto sitting = sitting_of(name, "of-" + name);
    sitting.mode = store::Mode::skills_check;
    REQUIRE(room.store.begin_sitting(sitting));
    REQUIRE(count_as_attempt(room.store, sitting.id, "check"));
    REQUIRE(room.store.append_answer(sitting.id, answer_of("1", "3")));
  }
  REQUIRE(arrange(room.store, Classroom::with("ada", 5min, false, 12)));
  CHECK(attempt_of(room.store, SittingId("of-ada"))->closes == minute(25));
  CHECK(attempt_of(room.store, SittingId("of-ben"))->closes == minute(20));
  const auto counts = [&](const std::string& rater, int at) {
    return !checked_scores(room.store, RaterId(rater), minute(at))->table.empty();
  };
  CHECK(counts("ben", 21));
  CHECK_FALSE(counts("ada", 21));
  CHECK(counts("ada", 25));
}

TEST_CASE("an arrangement is refused for who is no member, from nobody, and beyond a year") {
  Classroom room;
  const auto refused = [&](Arrangement one) { return arrange(room.store, one).error().code; };
  CHECK(refused(Classroom::with("eve", 5min, false, 2)) == Errc::not_found);
  auto nobody = Classroom::with("ada", 5min, false, 2);
  nobody.by.reset();
  CHECK(refused(nobody) == Errc::not_found);
  auto elsewhere = Classroom::with("ada", 5min, false, 2);
  elsewhere.group = GroupId("h");
  CHECK(refused(elsewhere) == Errc::not_found);
  CHECK(refused(Classroom::with("ada", -1min, false, 2)) == Errc::invalid);
  CHECK(refused(Classroom::with("ada", store::most_more_time + 1min, false, 2)) == Errc::invalid);
  CHECK(arrange(room.store, Classroom::with("ada", store::most_more_time, false, 2)));
}

TEST_CASE(
    "an arrangement is never changed, goes with its member, and loses its author's name with the author") {
  Classroom room;
  REQUIRE(arrange(room.store, Classroom::with("ada", 5min, true, 2)));
  CHECK_THROWS(tamper(room.path, "UPDATE arrangement SET more_minutes = 50"));
  REQUIRE(add_account(room.store, account_of("dan", Role::instructor)));
  auto by_dan = Classroom::with("ada", 6min, true, 3);
  by_dan.by = RaterId("dan");
  REQUIRE(arrange(room.store, by_dan));
  REQUIRE(erase(room.store, RaterId("dan"), minute(9)));
  CHECK_FALSE(arrangement_of(room.store, GroupId("g"), RaterId("ada"))->by);
  CHECK(arrangement_of(room.store, GroupId("g"), RaterId("ada"))->more_time == 6min);
  REQUIRE(erase(room.store, RaterId("ada"), minute(9)));
  CHECK(arrangements_in(room.store, GroupId("g")).empty());
  CHECK(room.store.check().empty());
}
