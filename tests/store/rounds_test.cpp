#include "store/rounds.hpp"

#include "site.hpp"
#include "store/person_data.hpp"
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

TEST_CASE("a round invites groups, and whoever is in one of them", "[rounds]") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  REQUIRE(add_account(store, account_of("ines", store::Role::instructor)));
  for (const auto* rater : {"ann", "ben"}) REQUIRE(add_account(store, account_of(rater)));
  for (const auto* id : {"tuesday", "friday"})
    REQUIRE(add_group(store, {.id = GroupId(id), .title = id, .owner = RaterId("ines"), .made = minute(0)}));
  REQUIRE(join_group(store, GroupId("friday"), RaterId("ann"), minute(0)));
  auto round = round_of("spring");
  CHECK(is_invited(store, round, RaterId("ben")));
  round.groups = {GroupId("friday"), GroupId("tuesday")};
  CHECK(add_round(store, round).error().code == Errc::invalid);
  round.for_groups = true;
  round.opened_by = RaterId("ines");
  round.closes = minute(60);
  REQUIRE(add_round(store, round));
  REQUIRE(add_round(store, round));
  const auto kept = store::round(store, round.id).value();
  CHECK(kept.groups == std::vector{GroupId("tuesday"), GroupId("friday")});
  CHECK(is_invited(store, kept, RaterId("ann")));
  CHECK_FALSE(is_invited(store, kept, RaterId("ben")));
  // The groups go with who looks after them; the round is not open to everybody for that.
  REQUIRE(erase(store, RaterId("ines"), minute(9)));
  const auto later = store::round(store, round.id).value();
  CHECK(later.groups.empty());
  CHECK(later.for_groups);
  CHECK_FALSE(later.opened_by);
  CHECK_FALSE(is_invited(store, later, RaterId("ann")));
  CHECK(store.check().empty());
}

TEST_CASE("a round with a time to close closes at that time, whenever it is looked at") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  auto round = round_of("spring");
  round.closes = minute(60);
  REQUIRE(add_round(store, round));
  CHECK(close_due_rounds(store, minute(59)) == 0);
  CHECK(close_due_rounds(store, minute(75)) == 1);
  CHECK(close_due_rounds(store, minute(76)) == 0);
  CHECK(store::round(store, round.id)->closed == minute(60));
  CHECK_FALSE(store::round(store, round.id)->shown_until);
  REQUIRE(reopen_round(store, round.id));
  // Until when its raters could see reasons is kept, whatever becomes of it.
  CHECK(store::round(store, round.id)->shown_until == minute(60));
  CHECK(close_due_rounds(store, minute(90)) == 0);
  CHECK_FALSE(store::round(store, round.id)->closed);
  round.closes = minute(1);
  round.id = RoundId("fall");
  CHECK(add_round(store, round).error().code == Errc::invalid);
}

TEST_CASE("a locked round is never opened again, and its scores neither come nor go") {
  const Folder folder;
  const std::string path = folder / "a.db";
  auto store = open_store(path);
  REQUIRE(add_round(store, round_of("spring")));
  const std::string heads = "rater,round,case,item,score\n";
  const auto before = table_from(heads + "ann,spring,c1,1,3\n");
  REQUIRE(store.import_scores(before, {"a.csv", "f1"}, minute(2)));
  CHECK(lock_round(store, RoundId("spring"), "f", minute(3)).error().code == Errc::conflict);
  REQUIRE(close_round(store, RoundId("spring"), minute(3)));
  CHECK(lock_round(store, RoundId("spring"), "", minute(3)).error().code == Errc::invalid);
  CHECK(lock_round(store, RoundId("spring"), "f", minute(2)).error().code == Errc::invalid);
  REQUIRE(lock_round(store, RoundId("spring"), "f", minute(4)));
  REQUIRE(lock_round(store, RoundId("spring"), "g", minute(5)));
  CHECK(store::round(store, RoundId("spring"))->data_fingerprint == "f");
  CHECK(reopen_round(store, RoundId("spring")).error().code == Errc::conflict);

  const auto more =
      store.import_scores(table_from(heads + "ann,spring,c1,2,3\n"), {"b.csv", "f2"}, minute(6));
  REQUIRE_FALSE(more);
  CHECK_THAT(more.error().message, Contains("its round is locked"));
  // Read in again, nothing is new: no harm.
  CHECK(store.import_scores(before, {"a.csv", "f1"}, minute(6))->unchanged == 1);
  CHECK(store.undo_import(1, minute(7)).error().code == Errc::conflict);
  CHECK(store.scores({.round = RoundId("spring")})->size() == 1);
  CHECK_THROWS_WITH(tamper(path, "UPDATE round SET closed_at = NULL WHERE id = 'spring'"),
                    Contains("locked"));
  CHECK(store.check().empty());
}

TEST_CASE("an import remembers who brought it in") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  const auto table = table_from("rater,round,case,item,score\nann,spring,c1,1,3\n");
  CHECK(store.import_scores(table, {"a.csv", "f", RaterId("ines")}, minute(1)).error().code ==
        Errc::not_found);
  REQUIRE(store.ensure_person(RaterId("ines"), minute(0)));
  REQUIRE(store.import_scores(table, {"a.csv", "f", RaterId("ines")}, minute(1)));
  CHECK(store.imports().at(0).source.by == RaterId("ines"));
}
