#include "store/assignments.hpp"

#include "site.hpp"
#include "store/person_data.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::Assignment;
using store::Role;

namespace {

Assignment assignment_of(const std::string& id, int opens = 10, int closes = 20) {
  return {.id = id,
          .group = GroupId("g"),
          .set = SetId("first-steps"),
          .opens = minute(opens),
          .closes = minute(closes),
          .attempts = 2,
          .made = minute(1)};
}

struct Classroom {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);

  Classroom() {
    const bool done = add_account(store, account_of("cyd", Role::instructor)) &&
                      add_group(store, group_of("cyd", "g")) && add_account(store, account_of("ada")) &&
                      join_group(store, GroupId("g"), RaterId("ada"), minute(1));
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }
};

}  // namespace

TEST_CASE("what was assigned is read back, and a member finds it, what closes first first") {
  Classroom room;
  REQUIRE(add_assignment(room.store, assignment_of("late", 10, 30)));
  REQUIRE(add_assignment(room.store, assignment_of("soon", 10, 20)));
  CHECK(store::assignment(room.store, "late").value() == assignment_of("late", 10, 30));
  const auto mine = assignments_of_member(room.store, RaterId("ada"));
  REQUIRE(mine.size() == 2);
  CHECK(mine[0].id == "soon");
  CHECK(assignments_of_member(room.store, RaterId("cyd")).empty());
  CHECK(assignments_of_group(room.store, GroupId("g")).size() == 2);
}

TEST_CASE("the window is open from its beginning to just before its end, unless it was withdrawn") {
  auto one = assignment_of("a");
  CHECK_FALSE(one.open_at(minute(9)));
  CHECK(one.open_at(minute(10)));
  CHECK(one.open_at(minute(20) - std::chrono::milliseconds(1)));
  CHECK_FALSE(one.open_at(minute(20)));
  one.withdrawn = minute(12);
  CHECK_FALSE(one.open_at(minute(15)));
}

TEST_CASE("an assignment is withdrawn once, stays in the list of the group, and is never changed otherwise") {
  Classroom room;
  REQUIRE(add_assignment(room.store, assignment_of("a")));
  REQUIRE(withdraw(room.store, "a", minute(12)));
  REQUIRE(withdraw(room.store, "a", minute(15)));
  CHECK(store::assignment(room.store, "a")->withdrawn == minute(12));
  CHECK(assignments_of_group(room.store, GroupId("g")).size() == 1);
  CHECK(assignments_of_member(room.store, RaterId("ada")).empty());
  CHECK_THROWS(tamper(room.path, "UPDATE assignment SET closes_at = closes_at + 1"));
  CHECK(withdraw(room.store, "none", minute(1)).error().code == Errc::not_found);
}

TEST_CASE("what cannot be assigned is refused") {
  Classroom room;
  const auto code = [&](Assignment one) { return add_assignment(room.store, one).error().code; };
  auto bad = assignment_of("a", 20, 10);
  CHECK(code(bad) == Errc::invalid);
  bad = assignment_of("a");
  bad.attempts = 0;
  CHECK(code(bad) == Errc::invalid);
  bad = assignment_of("a");
  bad.mode = store::Mode::calibration;
  CHECK(code(bad) == Errc::invalid);
  bad = assignment_of("a");
  bad.group = GroupId("none");
  CHECK(code(bad) == Errc::not_found);
  REQUIRE(add_assignment(room.store, assignment_of("a")));
  CHECK(code(assignment_of("a")) == Errc::conflict);
}

TEST_CASE("sittings count as attempts, and keep their closing time when group and instructor go") {
  Classroom room;
  REQUIRE(add_assignment(room.store, assignment_of("a")));
  REQUIRE(room.store.begin_sitting(sitting_of("ada", "s-1")));
  CHECK_FALSE(attempt_of(room.store, SittingId("s-1")));
  REQUIRE(count_as_attempt(room.store, SittingId("s-1"), "a"));
  REQUIRE(count_as_attempt(room.store, SittingId("s-1"), "a"));
  CHECK(attempts_at(room.store, "a", RaterId("ada")) == std::vector{SittingId("s-1")});
  CHECK(attempts_at(room.store, "a", RaterId("cyd")).empty());
  CHECK(attempt_of(room.store, SittingId("s-1"))->closes == minute(20));
  CHECK(count_as_attempt(room.store, SittingId("none"), "a").error().code == Errc::not_found);
  CHECK(count_as_attempt(room.store, SittingId("s-1"), "none").error().code == Errc::not_found);
  REQUIRE(erase(room.store, RaterId("cyd"), minute(13)));
  const auto left = attempt_of(room.store, SittingId("s-1"));
  REQUIRE(left);
  CHECK(left->assignment.empty());
  CHECK(left->closes == minute(20));
  CHECK(room.store.check().empty());
}
