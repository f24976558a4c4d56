#include "store/set_uses.hpp"

#include "site.hpp"
#include "store/assignments.hpp"
#include "store/rounds.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::Role;

namespace {

const SetId steps("first-steps");

struct Classroom {
  Folder folder;
  store::Store store = open_store(folder / "a.db");

  Classroom() {
    const bool done = add_account(store, account_of("cyd", Role::instructor)) &&
                      add_group(store, group_of("cyd", "g")) && add_account(store, account_of("ada"));
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }
};

}  // namespace

TEST_CASE("what rests on a set: sittings, rounds, and assignments until they are withdrawn") {
  Classroom room;
  CHECK_FALSE(uses_of(room.store, steps, minute(5)).any());
  REQUIRE(add_assignment(room.store, {.id = "a",
                                      .group = GroupId("g"),
                                      .set = steps,
                                      .opens = minute(10),
                                      .closes = minute(20),
                                      .made = minute(1)}));
  CHECK(uses_of(room.store, steps, minute(5)) == store::SetUses{.assignments = 1, .open_assignments = 1});
  CHECK(uses_of(room.store, steps, minute(19)).open());
  CHECK_FALSE(uses_of(room.store, steps, minute(20)).open());
  CHECK(uses_of(room.store, steps, minute(20)).any());
  REQUIRE(withdraw(room.store, "a", minute(12)));
  CHECK_FALSE(uses_of(room.store, steps, minute(13)).any());

  REQUIRE(add_round(room.store,
                    {.id = RoundId("fall"), .title = "Fall round", .set = steps, .opened = minute(1)}));
  CHECK(uses_of(room.store, steps, minute(5)).open_rounds == std::vector<std::string>{"Fall round"});
  REQUIRE(close_round(room.store, RoundId("fall"), minute(6)));
  CHECK_FALSE(uses_of(room.store, steps, minute(7)).open());
  CHECK(uses_of(room.store, steps, minute(7)).rounds == 1);

  REQUIRE(room.store.begin_sitting(sitting_of("ada", "s")));
  CHECK(uses_of(room.store, steps, minute(7)).sittings == 1);
  CHECK_FALSE(uses_of(room.store, SetId("other"), minute(7)).any());
}

TEST_CASE("the cases a rater met are those answered in any sitting, and those of imported scores") {
  Classroom room;
  const std::vector<RaterId> raters{RaterId("ada"), RaterId("bea"), RaterId("nobody")};
  REQUIRE(room.store.begin_sitting(sitting_of("ada", "s")));
  CHECK(met_cases(room.store, raters).empty());  // begun, and nothing answered
  REQUIRE(room.store.append_answer(SittingId("s"), answer_of("1", "3")));
  REQUIRE(room.store.import_scores(table_from("rater,case,item,score\nbea,pb-hare,1,3\nbea,pb-hare,2,3\n"),
                                   {.name = "paper.csv", .file_fingerprint = "f"}, minute(3)));
  const auto met = met_cases(room.store, raters);
  CHECK(met.size() == 2);
  CHECK(met.at(RaterId("ada")) == std::set<CaseId>{CaseId("pb-otter")});
  CHECK(met.at(RaterId("bea")) == std::set<CaseId>{CaseId("pb-hare")});
  REQUIRE(room.store.undo_import(1, minute(4)));
  CHECK_FALSE(met_cases(room.store, raters).contains(RaterId("bea")));
}
