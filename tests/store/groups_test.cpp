#include "store/groups.hpp"

#include "processes.hpp"
#include "site.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Role;

namespace {

struct School {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);
  GroupId g{"g"};

  School() {
    bool done = add_account(store, account_of("cyd", Role::instructor)).has_value() &&
                add_account(store, account_of("dee", Role::instructor)).has_value();
    for (const std::string rater : {"ada", "ben", "eli"})
      done = done && add_account(store, account_of(rater)).has_value();
    if (!done) throw std::runtime_error("no accounts");
  }
  Result<void> join(const std::string& rater, int at) {
    return join_group(store, g, RaterId(rater), minute(at));
  }
};

}  // namespace

TEST_CASE("a group comes back as it was made, to its owner") {
  School school;
  auto full = group_of("cyd", "g");
  full.seats = 30;
  store::Group closed{GroupId("h"), "Later", RaterId("cyd"), minute(2)};
  REQUIRE(add_group(school.store, full));
  REQUIRE(add_group(school.store, closed));
  REQUIRE(add_group(school.store, group_of("dee", "i")));
  CHECK(group(school.store, school.g).value() == full);
  CHECK(group(school.store, GroupId("h")).value() == closed);
  CHECK(groups_of(school.store, RaterId("cyd")) == std::vector{full, closed});
  CHECK(groups_of(school.store, RaterId("ada")).empty());
  CHECK(group(school.store, GroupId("x")).error().code == Errc::not_found);
}

TEST_CASE("a code leads to its group until it runs out, is replaced or closed") {
  School school;
  REQUIRE(add_group(school.store, group_of("cyd", "g")));
  const auto with = [&](const std::string& code, int at) {
    return group_with_code(school.store, code, minute(at)).map([](const auto& found) { return found.id; });
  };
  CHECK(with("CODEg", 59) == school.g);
  CHECK(with("CODEg", 60).error().code == Errc::not_found);
  CHECK(with("codeg", 1).error() == with("CODEg", 60).error());
  REQUIRE(set_code(school.store, school.g, "NEW", minute(90)));
  CHECK(with("NEW", 89) == school.g);
  CHECK_FALSE(with("CODEg", 1));
  REQUIRE(close_code(school.store, school.g));
  REQUIRE(close_code(school.store, school.g));
  CHECK_FALSE(with("NEW", 1));
  CHECK_FALSE(group(school.store, school.g)->code);
  CHECK_FALSE(group(school.store, school.g)->code_until);
}

TEST_CASE("two groups never have one code", "[edge]") {
  School school;
  REQUIRE(add_group(school.store, group_of("cyd", "g")));
  auto same_code = group_of("dee", "h");
  same_code.code = "CODEg";
  CHECK(add_group(school.store, same_code).error().code == Errc::conflict);
  REQUIRE(add_group(school.store, group_of("dee", "h")));
  CHECK(set_code(school.store, GroupId("h"), "CODEg", minute(90)).error().code == Errc::conflict);
  CHECK(set_code(school.store, school.g, "CODEg", minute(90)));
  CHECK(set_code(school.store, GroupId("x"), "X", minute(90)).error().code == Errc::not_found);
  CHECK(close_code(school.store, GroupId("x")).error().code == Errc::not_found);
}

TEST_CASE("a group has an id, a title, an owner, and a code only with its end", "[edge]") {
  School school;
  for (auto spoil : {+[](store::Group& g) { g.id = {}; }, +[](store::Group& g) { g.title = ""; },
                     +[](store::Group& g) { g.title = std::string(201, 'x'); },
                     +[](store::Group& g) { g.code = ""; }, +[](store::Group& g) { g.code_until.reset(); },
                     +[](store::Group& g) { g.code.reset(); }, +[](store::Group& g) { g.seats = 0; }}) {
    auto bad = group_of("cyd", "g");
    spoil(bad);
    CHECK(add_group(school.store, bad).error().code == Errc::invalid);
  }
  CHECK(add_group(school.store, group_of("zoe", "g")).error().code == Errc::not_found);
  REQUIRE(add_group(school.store, group_of("cyd", "g")));
  CHECK(add_group(school.store, group_of("dee", "g")).error().code == Errc::conflict);
  CHECK(set_code(school.store, school.g, "", minute(9)).error().code == Errc::invalid);
  CHECK(group(school.store, school.g).value() == group_of("cyd", "g"));
}

TEST_CASE("members are listed in the order they joined, and see their groups") {
  School school;
  REQUIRE(add_group(school.store, group_of("cyd", "g")));
  REQUIRE(add_group(school.store, group_of("dee", "h")));
  REQUIRE(school.join("ben", 5));
  REQUIRE(school.join("ada", 6));
  REQUIRE(school.join("ben", 7));
  REQUIRE(join_group(school.store, GroupId("h"), RaterId("ada"), minute(8)));
  REQUIRE(begin_session(school.store, session_of("ada", "phone", 9)));
  CHECK(members(school.store, school.g).value() ==
        std::vector<store::Member>{{RaterId("ben"), minute(5)}, {RaterId("ada"), minute(6), minute(9)}});
  CHECK(groups_of_member(school.store, RaterId("ada")) ==
        std::vector{group_of("cyd", "g"), group_of("dee", "h")});
  CHECK(groups_of_member(school.store, RaterId("ben")) == std::vector{group_of("cyd", "g")});
  CHECK(groups_of_member(school.store, RaterId("eli")).empty());
  CHECK(members(school.store, GroupId("x")).error().code == Errc::not_found);
}

TEST_CASE("a group takes as many as it has seats", "[edge]") {
  School school;
  auto small = group_of("cyd", "g");
  small.seats = 2;
  REQUIRE(add_group(school.store, small));
  REQUIRE(school.join("ada", 5));
  REQUIRE(school.join("ben", 5));
  const auto full = school.join("eli", 6);
  REQUIRE_FALSE(full);
  CHECK(full.error().code == Errc::conflict);
  CHECK_THAT(full.error().message, Contains("Group g") && Contains("(2)"));
  CHECK(school.join("ada", 7));  // who is in stays in
  CHECK(school.join("zoe", 7).error().code == Errc::not_found);
  CHECK(join_group(school.store, GroupId("x"), RaterId("ada"), minute(7)).error().code == Errc::not_found);
  CHECK(members(school.store, school.g)->size() == 2);
}

TEST_CASE("the last seat is taken once, by programs that join at the same time") {
  School school;
  auto small = group_of("cyd", "g");
  small.seats = 1;
  REQUIRE(add_group(school.store, small));
  std::vector<pid_t> children;
  for (const std::string rater : {"ada", "ben", "eli"})
    children.push_back(in_child([&] {
      auto store = open_store(school.path);
      const auto joined = join_group(store, school.g, RaterId(rater), minute(5));
      return joined ? 1 : joined.error().code == Errc::conflict ? 0 : 9;
    }));
  int taken = 0;
  for (const pid_t child : children) taken += exit_of(child);
  CHECK(taken == 1);
  CHECK(members(school.store, school.g)->size() == 1);
}
