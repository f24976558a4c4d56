#include "store/drafts.hpp"

#include "site.hpp"
#include "store/audit.hpp"
#include "store/person_data.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::DraftVersion;
using store::Role;

namespace {

const CaseId robin("pb-robin");

DraftVersion text(const std::string& yaml, int at, const std::string& fingerprint = "",
                  bool offered = false) {
  return {.yaml = yaml, .case_fingerprint = fingerprint, .offered = offered, .at = minute(at)};
}

struct Desk {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);

  Desk() {
    for (const std::string who : {"ada", "ben"})
      if (!add_account(store, account_of(who, Role::instructor))) throw std::runtime_error("no account");
  }
};

}  // namespace

TEST_CASE("a draft keeps every version, the last one is what it says now") {
  Desk desk;
  REQUIRE(begin_draft(desk.store, robin, RaterId("ada"), text("one", 1)));
  const auto second = save_draft(desk.store, robin, 1, text("two", 2, "f2", true));
  REQUIRE(second);
  CHECK(second->version == 2);
  const auto now = draft(desk.store, robin);
  REQUIRE(now);
  CHECK(now->author == RaterId("ada"));
  CHECK(now->made == minute(1));
  CHECK(now->latest == *second);
  const auto all = versions_of(desk.store, robin);
  REQUIRE(all.size() == 2);
  CHECK(all[0].yaml == "one");
  CHECK(all[1] == *second);
  REQUIRE(begin_draft(desk.store, CaseId("pb-other"), RaterId("ben"), text("x", 3)));
  const auto open = open_drafts(desk.store);
  REQUIRE(open.size() == 2);
  CHECK(open[0].id == CaseId("pb-other"));
  CHECK(open[1] == *now);
}

TEST_CASE("saying the same again changes nothing, saying something else on an old version is refused",
          "[edge]") {
  Desk desk;
  REQUIRE(begin_draft(desk.store, robin, RaterId("ada"), text("one", 1)));
  CHECK(begin_draft(desk.store, robin, RaterId("ada"), text("one", 2)));
  CHECK(begin_draft(desk.store, robin, RaterId("ada"), text("two", 2)).error().code == Errc::conflict);
  CHECK(begin_draft(desk.store, robin, RaterId("ben"), text("one", 2)).error().code == Errc::conflict);
  CHECK(save_draft(desk.store, robin, 1, text("two", 3))->version == 2);
  CHECK(save_draft(desk.store, robin, 1, text("two", 4))->version == 2);
  CHECK(save_draft(desk.store, robin, 1, text("three", 4)).error().code == Errc::conflict);
  CHECK(save_draft(desk.store, CaseId("none"), 1, text("a", 4)).error().code == Errc::not_found);
  CHECK(save_draft(desk.store, robin, 2, text("", 4)).error().code == Errc::invalid);
  CHECK(save_draft(desk.store, robin, 2, text("faults", 4, "", true)).error().code == Errc::invalid);
  CHECK(begin_draft(desk.store, {}, RaterId("ada"), text("a", 4)).error().code == Errc::invalid);
  CHECK(begin_draft(desk.store, CaseId("b"), RaterId("zoe"), text("a", 4)).error().code == Errc::not_found);
  CHECK(versions_of(desk.store, robin).size() == 2);
}

TEST_CASE("a withdrawn draft is gone from the lists and leaves its id free") {
  Desk desk;
  REQUIRE(begin_draft(desk.store, robin, RaterId("ada"), text("one", 1)));
  REQUIRE(withdraw_draft(desk.store, robin, minute(2)));
  CHECK(open_drafts(desk.store).empty());
  CHECK(draft(desk.store, robin).error().code == Errc::not_found);
  CHECK(versions_of(desk.store, robin).empty());
  CHECK(save_draft(desk.store, robin, 1, text("two", 3)).error().code == Errc::not_found);
  CHECK(withdraw_draft(desk.store, robin, minute(3)).error().code == Errc::not_found);
  REQUIRE(begin_draft(desk.store, robin, RaterId("ben"), text("anew", 4)));
  CHECK(draft(desk.store, robin)->author == RaterId("ben"));
  CHECK(drafts_by(desk.store, RaterId("ada")).at(0).draft.withdrawn == minute(2));
}

TEST_CASE("who looked at a draft's key is known from the log, of that draft alone") {
  Desk desk;
  REQUIRE(begin_draft(desk.store, robin, RaterId("ada"), text("one", 1)));
  const auto now = *draft(desk.store, robin);
  const auto look = [&](const char* who, const char* at, int when) {
    REQUIRE(note(desk.store,
                 {.at = minute(when), .actor = RaterId(who), .deed = store::Deed::saw_draft, .about = at}));
  };
  look("ben", "pb-other", 2);
  look("ben", "pb-robin", 0);  // another draft that had the id before
  CHECK_FALSE(has_looked(desk.store, now, RaterId("ben")));
  look("ben", "pb-robin", 3);
  CHECK(has_looked(desk.store, now, RaterId("ben")));
  CHECK_FALSE(has_looked(desk.store, now, RaterId("ada")));
}

TEST_CASE("a purge of the log keeps who looked at the key of a draft, for as long as it is one") {
  Desk desk;
  REQUIRE(begin_draft(desk.store, robin, RaterId("ada"), text("one", 1)));
  const auto now = *draft(desk.store, robin);
  const auto look = [&](const char* at, int when) {
    REQUIRE(note(desk.store,
                 {.at = minute(when), .actor = RaterId("ben"), .deed = store::Deed::saw_draft, .about = at}));
  };
  look("pb-robin", 0);  // another draft that had the id before
  look("pb-robin", 3);
  look("pb-other", 3);  // withdrawn since
  REQUIRE(set_retention(desk.store, 30, minute(4)));
  const auto later = [](int days) { return minute(0) + std::chrono::hours(24 * days); };
  CHECK(purge(desk.store, later(31)).entries == 2);
  CHECK(has_looked(desk.store, now, RaterId("ben")));
  CHECK(purge(desk.store, later(32)).entries == 0);
  REQUIRE(withdraw_draft(desk.store, robin, later(33)));
  // The entry of the first purge is not old enough yet.
  CHECK(purge(desk.store, later(34)).entries == 1);
  CHECK_FALSE(has_looked(desk.store, now, RaterId("ben")));
  CHECK(desk.store.check().empty());
}

TEST_CASE("drafts are append-only, to other programs too") {
  Desk desk;
  REQUIRE(begin_draft(desk.store, robin, RaterId("ada"), text("one", 1)));
  REQUIRE(withdraw_draft(desk.store, robin, minute(2)));
  for (const char* sql : {"UPDATE case_draft_version SET yaml = 'x'", "DELETE FROM case_draft_version",
                          "UPDATE case_draft SET case_id = 'x'", "DELETE FROM case_draft",
                          "UPDATE case_draft SET withdrawn_at = NULL"})
    CHECK_THROWS(tamper(desk.path, sql));
}

TEST_CASE("a person's record holds their drafts: when they are erased, the drafts are the department's") {
  Desk desk;
  REQUIRE(begin_draft(desk.store, robin, RaterId("ada"), text("one", 1)));
  REQUIRE(save_draft(desk.store, robin, 1, text("two", 2)));
  const auto record = everything_of(desk.store, RaterId("ada"));
  REQUIRE(record);
  REQUIRE(record->drafts.size() == 1);
  CHECK(record->drafts[0].versions == versions_of(desk.store, robin));
  CHECK(everything_of(desk.store, RaterId("ben"))->drafts.empty());
  REQUIRE(erase(desk.store, RaterId("ada"), minute(9)));
  CHECK_FALSE(draft(desk.store, robin)->author);
  CHECK(draft(desk.store, robin)->latest.yaml == "two");
  CHECK(desk.store.check().empty());
}
