#include "store/accounts.hpp"

#include "site.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Role;

TEST_CASE("an account comes back as it was made") {
  const Folder folder;
  const std::string path = folder / "a.db";
  {
    auto made = open_store(path);
    for (const auto role : {Role::student, Role::instructor, Role::lead})
      REQUIRE(add_account(made, account_of(std::string(word(role)), role)));
  }
  auto found = open_store(path);
  for (const auto role : {Role::student, Role::instructor, Role::lead})
    CHECK(account(found, RaterId(std::string(word(role)))).value() ==
          account_of(std::string(word(role)), role));
  CHECK(account(found, RaterId("nobody")).error().code == Errc::not_found);
  CHECK(found.check().empty());
}

TEST_CASE("accounts are counted by role") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  CHECK(count_accounts(store) == store::AccountCounts{});
  REQUIRE(add_account(store, account_of("ada")));
  REQUIRE(add_account(store, account_of("ben")));
  REQUIRE(add_account(store, account_of("cyd", Role::instructor)));
  CHECK(count_accounts(store) == store::AccountCounts{.students = 2, .instructors = 1, .leads = 0});
}

TEST_CASE("nobody takes the id of another", "[edge]") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  REQUIRE(add_account(store, account_of("ada")));
  const auto again = add_account(store, account_of("ada", Role::lead));
  REQUIRE_FALSE(again);
  CHECK(again.error().code == Errc::conflict);
  CHECK_THAT(again.error().message, Contains("ada") && Contains("has an account already"));
  CHECK(account(store, RaterId("ada"))->role == Role::student);

  REQUIRE(store.import_scores(table_from("rater,case,item,score\nzoe,c,1,4\n"),
                              {.name = "a.csv", .file_fingerprint = "f"}, minute(1)));
  REQUIRE(store.begin_sitting(sitting_of("ben", "s-1")));
  for (const std::string known : {"zoe", "ben"}) {
    const auto taken = add_account(store, account_of(known));
    REQUIRE_FALSE(taken);
    CHECK(taken.error().code == Errc::conflict);
    CHECK_THAT(taken.error().message, Contains(known) && Contains("scores or sittings"));
    CHECK(account(store, RaterId(known)).error().code == Errc::not_found);
  }
}

TEST_CASE("an account needs an id and a hash", "[edge]") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  CHECK(add_account(store, account_of("")).error().code == Errc::invalid);
  CHECK(add_account(store, account_of("a\nb")).error().code == Errc::invalid);
  auto bare = account_of("ada");
  bare.passphrase_hash.clear();
  CHECK(add_account(store, bare).error().code == Errc::invalid);
  CHECK(store.counts()->people == 0);
}

TEST_CASE("a new passphrase ends the rater's sessions and nobody else's") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  for (const std::string rater : {"ada", "ben"}) {
    REQUIRE(add_account(store, account_of(rater)));
    REQUIRE(begin_session(store, session_of(rater, rater + "-phone")));
    REQUIRE(begin_session(store, session_of(rater, rater + "-laptop")));
  }
  REQUIRE(change_passphrase(store, RaterId("ada"), "$other"));
  CHECK(account(store, RaterId("ada"))->passphrase_hash == "$other");
  CHECK(sessions_of(store, RaterId("ada")).empty());
  CHECK(sessions_of(store, RaterId("ben")).size() == 2);
  CHECK(change_passphrase(store, RaterId("ada"), "").error().code == Errc::invalid);
  CHECK(change_passphrase(store, RaterId("zoe"), "$other").error().code == Errc::not_found);
}

TEST_CASE("a hash of the same passphrase made anew ends no session") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  for (const std::string rater : {"ada", "ben"}) {
    REQUIRE(add_account(store, account_of(rater)));
    REQUIRE(begin_session(store, session_of(rater, rater + "-phone")));
  }
  REQUIRE(renew_hash(store, RaterId("ada"), "$stronger"));
  CHECK(account(store, RaterId("ada"))->passphrase_hash == "$stronger");
  CHECK(account(store, RaterId("ben")).value() == account_of("ben"));
  CHECK(sessions_of(store, RaterId("ada")) == std::vector{session_of("ada", "ada-phone")});
  CHECK(renew_hash(store, RaterId("ada"), "").error().code == Errc::invalid);
  CHECK(renew_hash(store, RaterId("zoe"), "$stronger").error().code == Errc::not_found);
  CHECK(account(store, RaterId("ada"))->passphrase_hash == "$stronger");
}
