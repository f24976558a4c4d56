#include <algorithm>
#include <chrono>
#include <ctime>
#include <limits>
#include <thread>
#include <vector>

#include <catch2/catch.hpp>

#include "server/setup.hpp"
#include "server/support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

namespace {

Json signing_in(const std::string& rater, const std::string& phrase = passphrase) {
  return {{"rater", rater}, {"passphrase", phrase}};
}

}  // namespace

TEST_CASE("the link of the first start makes the first instructor, once") {
  House house;
  auto store = house.store();
  const auto token = server::setup_token(store, house.now()).value();
  REQUIRE(token);
  Browser ines(house);
  CHECK(ines.post("/api/setup", {{"token", "wrong"}, {"rater", "ines"}, {"passphrase", passphrase}}).status ==
        404);
  CHECK(ines.cookie.empty());
  const auto made =
      ines.post("/api/setup", {{"token", *token}, {"rater", "Ines"}, {"passphrase", passphrase}});
  CHECK(made.status == 201);
  CHECK(made.body() ==
        Json{{"rater", "ines"},
             {"role", "lead"},
             {"groups", Json::array()},
             {"session", {{"ends", base::to_rfc3339(house.now() + 12h)}, {"idle_seconds", 7200}}}});
  CHECK(ines.get("/api/me").body() == made.body());

  Browser other(house);
  CHECK(other.post("/api/setup", {{"token", *token}, {"rater", "otto"}, {"passphrase", passphrase}}).status ==
        404);
  CHECK(other.get("/api/me").status == 401);
  CHECK_FALSE(server::setup_token(store, house.now()).value());
}

TEST_CASE("an invitation makes one more instructor, who is no lead") {
  House house;
  auto ines = instructor(house);
  auto store = house.store();
  const auto token = server::invitation_token(store, house.now()).value();
  const auto with = [&](const std::string& rater) {
    return Browser(house).post("/api/setup",
                               {{"token", token}, {"rater", rater}, {"passphrase", passphrase}});
  };
  CHECK(with("otto").body().at("role") == "instructor");
  CHECK(with("paul").status == 404);
}

TEST_CASE("a link for setting up is good for a day, and a new start makes it void") {
  House house;
  auto store = house.store();
  const auto first = server::setup_token(store, house.now()).value();
  const auto second = server::setup_token(store, house.now()).value();
  Browser ines(house);
  const auto with = [&](const std::string& token) {
    return ines.post("/api/setup", {{"token", token}, {"rater", "ines"}, {"passphrase", passphrase}}).status;
  };
  CHECK(with(*first) == 404);
  house.wait(24h);
  CHECK(with(*second) == 404);
  CHECK(with(*server::setup_token(store, house.now()).value()) == 201);
}

TEST_CASE("a refused setup leaves its link as good as it was") {
  House house;
  auto store = house.store();
  const auto token = server::setup_token(store, house.now()).value();
  REQUIRE(store.ensure_person(RaterId("ann"), house.now()));
  Browser ines(house);
  CHECK(ines.post("/api/setup", {{"token", *token}, {"rater", "ines"}, {"passphrase", "12345678"}}).status ==
        422);
  // Known by imported scores: whoever took the id would own them.
  CHECK(ines.post("/api/setup", {{"token", *token}, {"rater", "ann"}, {"passphrase", passphrase}}).status ==
        409);
  CHECK(ines.post("/api/setup", {{"token", *token}, {"rater", "ines"}, {"passphrase", passphrase}}).status ==
        201);
}

TEST_CASE("a student joins with the group's code, however it is typed") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  std::string typed = group.code.substr(0, 4) + "-" + group.code.substr(4);
  for (char& c : typed) {
    if (c == '0') c = 'o';
    if (c == '1') c = 'l';
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  Browser ann(house);
  const auto joined = ann.post("/api/join", {{"code", typed}, {"rater", " Ann"}, {"passphrase", passphrase}});
  CHECK(joined.status == 201);
  CHECK(joined.body() ==
        Json{{"rater", "ann"},
             {"role", "student"},
             {"groups", {{{"id", group.id}, {"title", "Tuesday"}}}},
             {"session", {{"ends", base::to_rfc3339(house.now() + 7 * 24h)}, {"idle_seconds", 24 * 3600}}}});
  house.wait(1h);
  CHECK(ann.get("/api/me").body() == joined.body());
}

TEST_CASE("nobody joins with a code that is wrong, closed or over, and all are told the same") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines, {{"hours", 1}});
  const auto joining = [&](const std::string& code) {
    Browser ann(house);
    return ann.post("/api/join", {{"code", code}, {"rater", "ann"}, {"passphrase", passphrase}});
  };
  const auto wrong = joining(group.code == "00000000" ? "00000001" : "00000000");
  CHECK(wrong.status == 404);
  CHECK(wrong.code() == "wrong-code");
  CHECK(joining("short").text == wrong.text);
  house.wait(1h);
  CHECK(joining(group.code).text == wrong.text);
  const auto renewed = ines.post("/api/groups/" + group.id + "/code").body().at("code").get<std::string>();
  CHECK(joining(group.code).text == wrong.text);
  CHECK(ines.erase("/api/groups/" + group.id + "/code").status == 200);
  CHECK(joining(renewed).text == wrong.text);
}

TEST_CASE("joining says what is wrong with the rater id, the passphrase and the seats") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines, {{"seats", 1}});
  const auto joining = [&](const std::string& rater, const std::string& phrase) {
    Browser browser(house);
    return browser.post("/api/join", {{"code", group.code}, {"rater", rater}, {"passphrase", phrase}}).status;
  };
  CHECK(joining("a", passphrase) == 422);
  CHECK(joining("ann@example.org", passphrase) == 422);
  CHECK(joining("key", passphrase) == 422);
  CHECK(joining("ann", "short") == 422);
  CHECK(joining("ann", "password123") == 422);
  CHECK(joining("ines", passphrase) == 409);
  CHECK(joining("ann", passphrase) == 201);
  CHECK(joining("ben", passphrase) == 409);
  // Nothing of the one who came too late was kept.
  Browser ben(house);
  CHECK(ben.post("/api/sign-in", signing_in("ben")).status == 401);
  auto store = house.store();
  CHECK(store::count_accounts(store).students == 1);
}

TEST_CASE("who has an account joins a further group by its code alone") {
  House house;
  auto ines = instructor(house);
  auto ann = student(house, open_group(ines).code, "ann");
  const auto second = open_group(ines, {{"title", "Thursday"}});
  const auto joined = ann.post("/api/join", {{"code", second.code}});
  CHECK(joined.status == 200);
  CHECK(joined.body().at("groups").size() == 2);
  CHECK(ann.post("/api/join", {{"code", "ZZZZZZZZ"}}).status == 404);
}

TEST_CASE("wrong codes are slowed down, for the address that tries them") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  Browser guesser(house, "198.51.100.1"), ann(house, "192.0.2.7");
  const Json wrong{{"code", "ZZZZZZZZ"}, {"rater", "mal"}, {"passphrase", passphrase}};
  for (int i = 0; i < 30; ++i) REQUIRE(guesser.post("/api/join", wrong).status == 404);
  const auto refused = guesser.post("/api/join", wrong);
  CHECK(refused.status == 429);
  CHECK(refused.header("Retry-After") == "2");
  // Nor is he told when the code is right.
  CHECK(guesser.post("/api/join", {{"code", group.code}, {"rater", "mal"}, {"passphrase", passphrase}})
            .status == 429);
  CHECK(ann.post("/api/join", {{"code", group.code}, {"rater", "ann"}, {"passphrase", passphrase}}).status ==
        201);
  house.wait(2s);
  CHECK(guesser.post("/api/join", wrong).status == 404);
}

TEST_CASE("wrong codes from many addresses slow those down, and keep out nobody who was never wrong") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  const Json wrong{{"code", "ZZZZZZZZ"}, {"rater", "mal"}, {"passphrase", passphrase}};
  const auto from = [&](int address) { return Browser(house, "198.51.100." + std::to_string(address)); };
  // 300 in all, at most 30 from each.
  for (int i = 0; i < 300; ++i) REQUIRE(from(1 + i % 20).post("/api/join", wrong).status == 404);
  CHECK(from(1).post("/api/join", wrong).status == 429);
  const auto join = [&](Browser browser, const std::string& rater) {
    return browser.post("/api/join", {{"code", group.code}, {"rater", rater}, {"passphrase", passphrase}})
        .status;
  };
  CHECK(join(Browser(house, "192.0.2.7"), "ann") == 201);
  CHECK(join(from(1), "ben") == 429);
  // One guess of a further address; from then on it is one of them.
  CHECK(from(21).post("/api/join", wrong).status == 404);
  CHECK(from(21).post("/api/join", wrong).status == 429);
}

TEST_CASE("first tries of addresses that were never wrong have an end too, and it passes") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  const Json wrong{{"code", "ZZZZZZZZ"}, {"rater", "mal"}, {"passphrase", passphrase}};
  // Whoever has a network of IPv6 addresses has that many households.
  const auto from = [&](int household) {
    return Browser(house, "2001:db8:7:" + std::to_string(household) + "::1");
  };
  for (int i = 0; i < 3000; ++i) REQUIRE(from(i).post("/api/join", wrong).status == 404);
  CHECK(from(3000).post("/api/join", wrong).status == 429);
  house.wait(1min);
  CHECK(from(3001).post("/api/join", wrong).status == 404);
  const Json right{{"code", group.code}, {"rater", "ann"}, {"passphrase", passphrase}};
  CHECK(from(3002).post("/api/join", right).status == 201);
}

TEST_CASE("a wrong passphrase and an unknown rater get one answer, in about the same time") {
  House house;
  auto ines = instructor(house);
  // Of this process on the processors: what else the machine does says nothing.
  const auto timed = [&](const std::string& rater, Answer& answer) {
    auto best = std::numeric_limits<std::clock_t>::max();
    for (int i = 0; i < 3; ++i) {
      Browser browser(house);
      const auto start = std::clock();
      answer = browser.post("/api/sign-in", signing_in(rater, "not this one"));
      best = std::min(best, std::clock() - start);
    }
    return static_cast<double>(best);
  };
  Answer known, unknown, no_id;
  const double of_known = timed("ines", known);
  const double of_unknown = timed("nobody", unknown);
  const double of_no_id = timed("no id at all", no_id);
  CHECK(known.status == 401);
  CHECK(known.text == unknown.text);
  CHECK(known.headers == unknown.headers);
  CHECK(known.text == no_id.text);
  // Without the hash of nobody it would be a hundredth.
  CHECK(of_unknown > of_known / 3);
  CHECK(of_no_id > of_known / 3);
}

TEST_CASE("sign-in is slowed down for one account, and no other is kept out by that") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  student(house, group.code, "ann");
  student(house, group.code, "ben");
  Browser browser(house);
  for (int i = 0; i < 10; ++i)
    REQUIRE(browser.post("/api/sign-in", signing_in("ann", "guess " + std::to_string(i))).status == 401);
  const auto refused = browser.post("/api/sign-in", signing_in("ann"));
  CHECK(refused.status == 429);
  CHECK(refused.header("Retry-After") == "6");
  CHECK(browser.post("/api/sign-in", signing_in("ben")).status == 200);
  // Ann herself, from elsewhere, is not locked out by who guesses here.
  Browser elsewhere(house, "203.0.113.9");
  CHECK(elsewhere.post("/api/sign-in", signing_in("ann")).status == 200);
  house.wait(6s);
  CHECK(Browser(house).post("/api/sign-in", signing_in("ann")).status == 200);
}

TEST_CASE("a new passphrase needs the old one, and ends all other sessions") {
  House house;
  auto ines = instructor(house);
  Browser phone(house);
  REQUIRE(phone.post("/api/sign-in", signing_in("ines")).status == 200);
  CHECK(ines.post("/api/passphrase", {{"old", "not this one"}, {"new", "five green hats"}}).code() ==
        "wrong-passphrase");
  CHECK(ines.post("/api/passphrase", {{"old", passphrase}, {"new", "12345678"}}).status == 422);
  CHECK(phone.get("/api/me").status == 200);
  CHECK(ines.post("/api/passphrase", {{"old", passphrase}, {"new", "five green hats"}}).status == 200);
  CHECK(ines.get("/api/me").status == 200);
  CHECK(phone.get("/api/me").status == 401);
  CHECK(phone.post("/api/sign-in", signing_in("ines")).status == 401);
  CHECK(phone.post("/api/sign-in", signing_in("ines", "five green hats")).status == 200);
}

TEST_CASE("a forgotten passphrase is renewed with a code from the instructor, who never sees it") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  student(house, group.code, "ben");
  const auto issued = ines.post("/api/groups/" + group.id + "/members/ann/reset");
  REQUIRE(issued.status == 201);
  CHECK(issued.body().at("expires") == "2026-09-02T08:00:00Z");
  const std::string code = issued.body().at("code");
  const auto reset = [&](const std::string& rater, const std::string& with) {
    return Browser(house).post("/api/reset",
                               {{"code", with}, {"rater", rater}, {"passphrase", "five green hats"}});
  };
  const auto wrong = reset("ann", code == "00000000" ? "00000001" : "00000000");
  CHECK(wrong.status == 404);
  CHECK(reset("ben", code).text == wrong.text);
  CHECK(reset("nobody", code).text == wrong.text);
  SECTION("once") {
    CHECK(reset("ann", code).status == 200);
    // Whoever was signed in with the old passphrase is out.
    CHECK(ann.get("/api/me").status == 401);
    CHECK(Browser(house).post("/api/sign-in", signing_in("ann", "five green hats")).status == 200);
    CHECK(Browser(house).post("/api/sign-in", signing_in("ann")).status == 401);
    CHECK(reset("ann", code).text == wrong.text);
  }
  SECTION("not after a day") {
    house.wait(24h);
    CHECK(reset("ann", code).text == wrong.text);
  }
  SECTION("not when a later one was issued") {
    REQUIRE(ines.post("/api/groups/" + group.id + "/members/ann/reset").status == 201);
    CHECK(reset("ann", code).text == wrong.text);
  }
  SECTION("and guessing is slowed down") {
    Answer last;
    for (int i = 0; i < 11; ++i) last = reset("ann", "ZZZZZZZZ");
    CHECK(last.status == 429);
  }
}

TEST_CASE("two who use one reset code at the same time do not both get in") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  student(house, group.code, "ann");
  const std::string code = ines.post("/api/groups/" + group.id + "/members/ann/reset").body().at("code");
  std::vector<unsigned> statuses(2);
  std::vector<std::thread> threads;
  for (std::size_t i = 0; i < 2; ++i)
    threads.emplace_back([&, i] {
      statuses[i] = Browser(house)
                        .post("/api/reset", {{"code", code},
                                             {"rater", "ann"},
                                             {"passphrase", "number " + std::to_string(i) + " of two"}})
                        .status;
    });
  for (auto& thread : threads) thread.join();
  std::sort(statuses.begin(), statuses.end());
  CHECK(statuses == std::vector<unsigned>{200, 404});
}
