#include "store/sessions.hpp"

#include <chrono>

#include "site.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::Role;
using store::SessionId;

namespace {

struct TwoRaters {
  Folder folder;
  store::Store store = open_store(folder / "a.db");
  RaterId ada{"ada"};
  RaterId ben{"ben"};

  TwoRaters() {
    if (!add_account(store, account_of("ada")) || !add_account(store, account_of("ben", Role::instructor)))
      throw std::runtime_error("no accounts");
  }
  std::vector<std::string> ids_of(const RaterId& rater) {
    std::vector<std::string> ids;
    for (const auto& session : sessions_of(store, rater)) ids.push_back(session.id.text());
    return ids;
  }
};

using Ids = std::vector<std::string>;

}  // namespace

TEST_CASE("a token leads to its rater and role") {
  TwoRaters two;
  REQUIRE(begin_session(two.store, session_of("ada", "a")));
  REQUIRE(begin_session(two.store, session_of("ben", "b")));
  CHECK(session(two.store, "token of a").value() == store::SignedIn{session_of("ada", "a"), Role::student});
  CHECK(session(two.store, "token of b").value() ==
        store::SignedIn{session_of("ben", "b"), Role::instructor});
  CHECK(session(two.store, "a").error().code == Errc::not_found);
  CHECK(session(two.store, "").error().code == Errc::not_found);
}

TEST_CASE("a session is listed to its rater only, the latest first, and ended by its rater only") {
  TwoRaters two;
  REQUIRE(begin_session(two.store, session_of("ada", "phone", 2)));
  REQUIRE(begin_session(two.store, session_of("ada", "laptop", 3)));
  REQUIRE(begin_session(two.store, session_of("ben", "desk", 4)));
  CHECK(two.ids_of(two.ada) == Ids{"laptop", "phone"});
  CHECK(end_session(two.store, two.ben, SessionId("phone")).error().code == Errc::not_found);
  CHECK(end_session(two.store, two.ada, SessionId("phone")));
  CHECK(end_session(two.store, two.ada, SessionId("phone")).error().code == Errc::not_found);
  CHECK(session(two.store, "token of phone").error().code == Errc::not_found);
  CHECK(two.ids_of(two.ada) == Ids{"laptop"});
  CHECK(two.ids_of(two.ben) == Ids{"desk"});
}

TEST_CASE("all other sessions of a rater are ended at once") {
  TwoRaters two;
  for (const std::string id : {"a", "b", "c"}) REQUIRE(begin_session(two.store, session_of("ada", id)));
  REQUIRE(begin_session(two.store, session_of("ben", "d")));
  CHECK(end_sessions_of(two.store, two.ada, SessionId("b")) == 2);
  CHECK(two.ids_of(two.ada) == Ids{"b"});
  CHECK(end_sessions_of(two.store, two.ada) == 1);
  CHECK(end_sessions_of(two.store, RaterId("nobody")) == 0);
  CHECK(two.ids_of(two.ben) == Ids{"d"});
}

TEST_CASE("that a rater was there is noted at most once a minute, and outlives the session") {
  TwoRaters two;
  REQUIRE(add_group(two.store, group_of("ben", "g")));
  REQUIRE(join_group(two.store, GroupId("g"), two.ada, minute(1)));
  const auto seen = [&] { return members(two.store, GroupId("g"))->front().seen; };
  CHECK_FALSE(seen());
  const SessionId id("a");
  REQUIRE(begin_session(two.store, session_of("ada", "a", 2)));
  CHECK(seen() == minute(2));
  touch_session(two.store, id, minute(2) + std::chrono::seconds(59));
  CHECK(session(two.store, "token of a")->session.seen == minute(2));
  touch_session(two.store, id, minute(3));
  CHECK(session(two.store, "token of a")->session.seen == minute(3));
  CHECK(seen() == minute(3));
  // A clock that was put back, and a session that is gone, change nothing.
  touch_session(two.store, id, minute(1));
  CHECK(session(two.store, "token of a")->session.seen == minute(3));
  REQUIRE(end_session(two.store, two.ada, id));
  touch_session(two.store, id, minute(9));
  CHECK(seen() == minute(3));
}

TEST_CASE("old sessions are ended, by when they began or were last seen") {
  TwoRaters two;
  for (const int begun : {1, 2, 3})
    REQUIRE(begin_session(two.store, session_of("ada", std::to_string(begun), begun)));
  touch_session(two.store, SessionId("1"), minute(30));
  touch_session(two.store, SessionId("3"), minute(30));
  CHECK(purge_sessions(two.store, minute(0), minute(20)) == 1);
  CHECK(two.ids_of(two.ada) == Ids{"3", "1"});
  CHECK(purge_sessions(two.store, minute(2), minute(0)) == 1);
  CHECK(two.ids_of(two.ada) == Ids{"3"});
}

TEST_CASE("a session needs an account, and an id and a token of its own", "[edge]") {
  TwoRaters two;
  REQUIRE(begin_session(two.store, session_of("ada", "a")));
  CHECK(begin_session(two.store, session_of("zoe", "z")).error().code == Errc::not_found);
  auto same_id = session_of("ben", "a");
  same_id.token_hash = "other";
  CHECK(begin_session(two.store, same_id).error().code == Errc::conflict);
  auto same_token = session_of("ben", "b");
  same_token.token_hash = "token of a";
  CHECK(begin_session(two.store, same_token).error().code == Errc::conflict);
  CHECK(session(two.store, "token of a")->session.rater == two.ada);
  for (auto spoil :
       {+[](store::Session& s) { s.id = SessionId(""); }, +[](store::Session& s) { s.token_hash.clear(); },
        +[](store::Session& s) { s.seen = minute(1); }}) {
    auto bad = session_of("ben", "c");
    spoil(bad);
    CHECK(begin_session(two.store, bad).error().code == Errc::invalid);
  }
  CHECK(two.ids_of(two.ben).empty());
}
