#include <chrono>
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>

#include "server/secrets.hpp"
#include "server/support.hpp"
#include "store/accounts.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

namespace {

Json signing_in(const std::string& rater, const std::string& phrase = passphrase) {
  return {{"rater", rater}, {"passphrase", phrase}};
}

/// Every byte of the store's files.
std::string bytes_of_store(const House& house) {
  std::string bytes;
  for (const char* ending : {"", "-wal"}) {
    std::ifstream in(house.store_path() + ending, std::ios::binary);
    bytes.append(std::istreambuf_iterator<char>(in), {});
  }
  return bytes;
}

std::string token_of(const Browser& browser) { return browser.cookie.substr(browser.cookie.find('=') + 1); }

}  // namespace

TEST_CASE("the cookie cannot be read by scripts, sent by other sites, or come over an open line") {
  House house;
  auto ines = instructor(house);
  Browser browser(house);
  const auto in = browser.post("/api/sign-in", signing_in("ines"));
  REQUIRE(in.count("Set-Cookie") == 1);
  const auto cookie = in.header("Set-Cookie");
  const auto token = token_of(browser);
  // 256 bits in base64
  CHECK(token.size() == 43);
  CHECK(cookie == "__Host-evenhand=" + token + "; Path=/; Max-Age=43200; HttpOnly; SameSite=Lax; Secure");
  CHECK(cookie.find("Domain") == std::string::npos);
}

TEST_CASE("on an open line, where so allowed, the cookie has another name") {
  House house({.tls = false, .this_machine_only = false});
  auto ines = instructor(house);
  CHECK(ines.cookie.starts_with("evenhand="));
  CHECK(ines.get("/api/me").status == 200);
  ines.cookie = "__Host-" + ines.cookie;
  CHECK(ines.get("/api/me").status == 401);
}

TEST_CASE("neither token, passphrase nor one-time code is in the store, only what cannot be undone") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  const std::string code = ines.post("/api/groups/" + group.id + "/members/ann/reset").body().at("code");
  const auto bytes = bytes_of_store(house);
  REQUIRE(bytes.find("Tuesday") != std::string::npos);
  CHECK(bytes.find(token_of(ann)) == std::string::npos);
  CHECK(bytes.find(server::token_hash(token_of(ann))) != std::string::npos);
  CHECK(bytes.find(passphrase) == std::string::npos);
  CHECK(bytes.find("$argon2id$v=19$m=19456,t=2,p=1$") != std::string::npos);
  CHECK(bytes.find(code) == std::string::npos);
  CHECK(bytes.find(server::token_hash(code)) == std::string::npos);
}

TEST_CASE("each sign-in has a token of its own, and ends the session the browser had") {
  House house;
  auto ines = instructor(house);
  Browser before = ines;
  REQUIRE(ines.post("/api/sign-in", signing_in("ines")).status == 200);
  CHECK(ines.cookie != before.cookie);
  CHECK(before.get("/api/me").status == 401);
  CHECK(ines.get("/api/me").status == 200);
  // A token that somebody else chose is never taken over.
  Browser fixed(house);
  fixed.cookie = "__Host-evenhand=chosen-by-somebody-else";
  REQUIRE(fixed.post("/api/sign-in", signing_in("ines")).status == 200);
  CHECK(fixed.cookie != "__Host-evenhand=chosen-by-somebody-else");
}

TEST_CASE("a hash that is renewed at sign-in leaves the other sessions as they are") {
  House house;
  auto ines = instructor(house);
  auto store = house.store();
  // Of the same passphrase, with less memory and one pass (made by libsodium 1.0.18).
  const std::string outdated =
      "$argon2id$v=19$m=8192,t=1,p=1$q7Dk/U0R91FOxFp6oOCmYQ$iydfn4PbQfDqPBGx4z6dMvx8fz9ovevNa0s7Wb0thnY";
  REQUIRE(store::renew_hash(store, RaterId("ines"), outdated));
  Browser phone(house);
  REQUIRE(phone.post("/api/sign-in", signing_in("ines")).status == 200);
  const auto renewed = store::account(store, RaterId("ines"))->passphrase_hash;
  CHECK(renewed.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
  CHECK(ines.get("/api/me").status == 200);
  CHECK(phone.get("/api/me").status == 200);
}

TEST_CASE("signing out ends the session at the site, not only in the browser") {
  House house;
  auto ines = instructor(house);
  Browser copy = ines;
  const auto out = ines.post("/api/sign-out");
  CHECK(out.status == 200);
  CHECK(out.header("Set-Cookie").find("Max-Age=0") != std::string::npos);
  CHECK(copy.get("/api/me").status == 401);
  CHECK(Browser(house).post("/api/sign-out").status == 200);
}

TEST_CASE("a session ends when nothing was asked for long, and at the latest after its whole time") {
  House house;
  auto ines = instructor(house);
  auto ann = student(house, open_group(ines).code, "ann");
  SECTION("staff, idle") {
    house.wait(2h - 1s);
    CHECK(ines.get("/api/me").status == 200);
    house.wait(2h);
    CHECK(ines.get("/api/me").status == 401);
    CHECK(ann.get("/api/me").status == 200);
  }
  SECTION("staff, busy") {
    for (int hour = 0; hour < 11; ++hour) {
      house.wait(1h);
      REQUIRE(ines.get("/api/me").status == 200);
    }
    house.wait(1h);
    CHECK(ines.get("/api/me").status == 401);
  }
  SECTION("student, idle") {
    house.wait(24h - 1s);
    CHECK(ann.get("/api/me").status == 200);
    house.wait(24h);
    CHECK(ann.get("/api/me").status == 401);
  }
  SECTION("student, busy") {
    for (int i = 0; i < 8; ++i) {
      house.wait(20h);
      REQUIRE(ann.get("/api/me").status == 200);
    }
    house.wait(8h);
    CHECK(ann.get("/api/me").status == 401);
  }
}

TEST_CASE("a person sees own sessions, and ends each of them: another's is as good as none") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  auto ben = student(house, group.code, "ben");
  Browser phone(house);
  house.wait(1min);
  REQUIRE(phone.post("/api/sign-in", signing_in("ann")).status == 200);
  const auto sessions = ann.get("/api/sessions").body();
  REQUIRE(sessions.size() == 2);
  CHECK(sessions[0].at("this") == false);
  CHECK(sessions[1].at("this") == true);
  const std::string of_phone = sessions[0].at("id");
  CHECK(ben.erase("/api/sessions/" + of_phone).status == 404);
  CHECK(ben.erase("/api/sessions/unknown").status == 404);
  CHECK(phone.get("/api/me").status == 200);
  CHECK(ann.erase("/api/sessions/" + of_phone).status == 200);
  CHECK(phone.get("/api/me").status == 401);
  CHECK(ann.get("/api/me").status == 200);
}
