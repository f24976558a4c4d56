// The small parts: addresses, bodies, codes, passphrases, rates, routes.

#include <chrono>
#include <set>

#include <catch2/catch.hpp>

#include "server/accounts.hpp"
#include "server/body.hpp"
#include "server/common_passphrases.hpp"
#include "server/passphrase.hpp"
#include "server/rate_limit.hpp"
#include "server/router.hpp"
#include "server/secrets.hpp"
#include "server/target.hpp"

using namespace evenhand;
using namespace evenhand::server;
using namespace std::chrono_literals;

namespace {

std::optional<Request> target(const std::string& text) {
  Request request;
  if (!read_target(text, request)) return std::nullopt;
  return request;
}

Request with_body(const std::string& body) {
  Request request;
  request.body = body;
  return request;
}

const base::Time start{1'000'000'000ms};

Route route(const std::string& method, const std::string& pattern) {
  return {.method = method, .pattern = pattern, .handler = {}};
}

}  // namespace

TEST_CASE("an address is read into its path and its query") {
  const auto read = target("/learn/4?seed=7&words=a+b%26c&empty=&bare&seed=8");
  REQUIRE(read);
  CHECK(read->path == "/learn/4");
  CHECK(read->query ==
        std::map<std::string, std::string>{{"seed", "7"}, {"words", "a b&c"}, {"empty", ""}, {"bare", ""}});
  CHECK(target("/caf%C3%A9")->path == "/caf\xC3\xA9");
  CHECK(target("/a+b")->path == "/a+b");
  CHECK(target("/")->path == "/");
}

TEST_CASE("an address that hides something is refused") {
  for (const char* text :
       {"", "x", "http://example.org/", "*", "/a/../b", "/a/%2e%2e/b", "/./a", "/a%2Fb", "/a%2fb", "/a%00",
        "/a%0Ab", "/%ff", "/%c0%af", "/%", "/%4", "/%zz", "/a?b=%", "/a?b=%00", "/a?%ff=1"})
    CHECK_FALSE(target(text));
  std::string many = "/a?";
  for (int i = 0; i < 33; ++i) many += "n" + std::to_string(i) + "=1&";
  CHECK_FALSE(target(many));
}

TEST_CASE("what is encoded for an address is read back", "[property]") {
  for (int first = 0x20; first < 0x7F; ++first) {
    const std::string text{'a', static_cast<char>(first), 'z'};
    CHECK(percent_decoded(percent_encoded(text)) == text);
  }
}

TEST_CASE("a body is an object of a modest depth, and names nothing twice") {
  CHECK(read_body(with_body("")).value() == nlohmann::json::object());
  CHECK(read_body(with_body(R"({"a": [1, {"b": null}]})")).value().at("a")[0] == 1);
  const auto nested = [](int levels) {
    return R"({"a":)" + std::string(static_cast<std::size_t>(levels - 1), '[') +
           std::string(static_cast<std::size_t>(levels - 1), ']') + "}";
  };
  CHECK(read_body(with_body(nested(deepest_body))));
  CHECK_FALSE(read_body(with_body(nested(deepest_body + 1))));
  for (const char* body :
       {"{", "[]", "7", "null", "\"text\"", "{} {}", "{\"a\":1,\"a\":2}", "{\"a\":{\"b\":1,\"b\":1}}",
        "{\"a\":\"\xff\"}", "{\"a\":NaN}", "{\"a\":1,}", "{'a':1}", "/**/{}"})
    CHECK_FALSE(read_body(with_body(body)));
  // The same name in two objects is no repetition.
  CHECK(read_body(with_body(R"({"a": {"x": 1}, "b": {"x": 1}})")));
}

TEST_CASE("a text of a body is a text, and not too long") {
  const auto body = nlohmann::json::parse(R"({"a": "four", "b": 4, "c": null})");
  CHECK(text_in(body, "a") == "four");
  CHECK_FALSE(text_in(body, "a", 3));
  CHECK_FALSE(text_in(body, "b"));
  CHECK_FALSE(text_in(body, "c"));
  CHECK_FALSE(text_in(body, "d"));
}

TEST_CASE("tokens and codes differ each time, and use every character they may") {
  std::set<std::string> tokens, codes;
  std::set<char> characters;
  for (int i = 0; i < 1000; ++i) {
    tokens.insert(new_token());
    const auto code = new_code();
    codes.insert(code);
    characters.insert(code.begin(), code.end());
  }
  CHECK(tokens.size() == 1000);
  CHECK(codes.size() == 1000);
  CHECK(characters.size() == 32);
  CHECK(new_token().size() == 43);
}

TEST_CASE("a code is read as people type it") {
  CHECK(read_code("ABCD1230") == "ABCD1230");
  CHECK(read_code("abcd-123o") == "ABCD1230");
  CHECK(read_code(" aBcD iL3O ") == "ABCD1130");
  CHECK_FALSE(read_code("ABCD123"));
  CHECK_FALSE(read_code("ABCD12345"));
  CHECK_FALSE(read_code("ABCDU123"));
  CHECK_FALSE(read_code("ABCD*123"));
  CHECK_FALSE(read_code(""));
}

TEST_CASE("a code's hash depends on the code and on the rater") {
  const auto hash = code_hash("ABCD1230", "ann");
  CHECK(hash == code_hash("ABCD1230", "ann"));
  CHECK(hash != code_hash("ABCD1230", "ben"));
  CHECK(hash != code_hash("ABCD1231", "ann"));
  CHECK(hash.size() == 64);
}

// OWASP ASVS 5, 6.2.4: at least the 3,000 commonest that fit the policy. The list is the one of
// python3-zxcvbn.
TEST_CASE("the commonest passwords that are long enough are refused, whatever their case") {
  const std::string_view all = common_passphrases();
  std::size_t refused = 0;
  for (std::size_t from = 1; from < all.size(); from = all.find(',', from) + 1) {
    const std::string one(all.substr(from, all.find(',', from) - from));
    if (one.size() < shortest_passphrase) continue;
    CHECK_FALSE(check_passphrase(one, "ann.lee"));
    ++refused;
  }
  CHECK(refused > 3000);
  // Such as anybody knows of, so that an empty or another list would be found.
  for (const char* known :
       {"corvette", "Samantha", "trustno1", "BLINK182", "mercedes", "liverpoo", "scorpion"})
    CHECK_FALSE(check_passphrase(known, "ann.lee"));
}

TEST_CASE("a passphrase of eight to two hundred characters may be anything but what is tried first") {
  const auto good = [](const std::string& text) { return check_passphrase(text, "ann.lee").has_value(); };
  CHECK(good("four purple owls"));
  CHECK(good("correct horse battery staple"));
  CHECK(good("dachshund"));
  CHECK(good("x7$kQ!9z"));
  CHECK(
      good("gr\xC3\xBC\xC3\x9F"
           "e aus ulm"));
  CHECK(
      good("\xF0\x9F\xA6\x89\xF0\x9F\x90\x99\xF0\x9F\xA6\x8A\xF0\x9F\x90\xBB\xF0\x9F\x90\xBC\xF0\x9F\x90\xA8"
           "\xF0\x9F\xA6\x81\xF0\x9F\x90\xAF"));
  CHECK(good(std::string(60, 'a') + " and something else at the end of it"));
  std::string long_one;
  for (int i = 0; long_one.size() < 200; ++i) long_one += std::to_string(i * 7919) + ' ';
  CHECK(good(long_one.substr(0, 200)));
  CHECK_FALSE(good(long_one.substr(0, 200) + "x"));
  for (const char* bad : {"",
                          "seven77",
                          "password",
                          "Password1",
                          "p4ssw0rd",
                          "PASSWORD!!!",
                          "passwordpassword",
                          "12345678",
                          "87654321",
                          "123456789012",
                          "aaaaaaaa",
                          "abababab",
                          "abcabcabcabc",
                          "abcdefgh",
                          "qwertyuiop",
                          "poiuytrewq",
                          "asdfghjkl",
                          "1qaz2wsx3edc",
                          "qwer1234",
                          "letmein123",
                          "welcome2026",
                          "evenhand",
                          "Summer2026!",
                          "ann.lee",
                          "ann.lee123",
                          "a\tb\tc\td\te",
                          "line\nbreaks",
                          "\xff\xfe\xfd\xfc\xfb\xfa\xf9\xf8"}) {
    INFO(bad);
    CHECK_FALSE(good(bad));
  }
}

TEST_CASE("a hash has the settings it should, its own salt, and fits its passphrase alone") {
  const auto hash = hash_passphrase("four purple owls");
  CHECK(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
  CHECK(hash != hash_passphrase("four purple owls"));
  CHECK(is_passphrase("four purple owls", hash));
  CHECK_FALSE(is_passphrase("four purple owl", hash));
  CHECK_FALSE(is_passphrase("", hash));
  CHECK_FALSE(is_passphrase("four purple owls", "no hash"));
  CHECK_FALSE(outdated(hash));
  // Made by the reference program argon2 with other settings would read so.
  CHECK(outdated("$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$RdescudvJCsgt3ub+b27"));
}

TEST_CASE("a bucket gives what it holds at once, then as it fills") {
  RateLimiter limiter;
  const Rate rate{3, 60};
  for (int i = 0; i < 3; ++i) CHECK_FALSE(limiter.take("a", rate, start));
  CHECK(limiter.take("a", rate, start) == 1s);
  CHECK_FALSE(limiter.take("b", rate, start));
  CHECK(limiter.take("a", rate, start + 999ms) == 1s);
  CHECK_FALSE(limiter.take("a", rate, start + 1s));
  CHECK(limiter.take("a", rate, start + 1s) == 1s);
  for (int i = 0; i < 3; ++i) CHECK_FALSE(limiter.take("a", rate, start + 1h));
  CHECK(limiter.take("a", rate, start + 1h));
  // A clock that was set back gives nothing and takes nothing.
  CHECK(limiter.take("a", rate, start));
}

TEST_CASE("looking whether there is one takes none") {
  RateLimiter limiter;
  const Rate rate{1, 1};
  for (int i = 0; i < 5; ++i) CHECK_FALSE(limiter.wait_for("a", rate, start));
  CHECK_FALSE(limiter.take("a", rate, start));
  CHECK(limiter.wait_for("a", rate, start) == 60s);
}

TEST_CASE("a limiter forgets the names used longest ago, and keeps to its size") {
  RateLimiter limiter(2);
  const Rate rate{1, 1};
  CHECK_FALSE(limiter.take("a", rate, start));
  CHECK_FALSE(limiter.take("b", rate, start));
  CHECK(limiter.take("a", rate, start));
  CHECK_FALSE(limiter.take("c", rate, start));
  CHECK(limiter.take("a", rate, start));
  CHECK_FALSE(limiter.take("b", rate, start));
}

TEST_CASE("addresses of one household count as one") {
  CHECK(network_of("192.0.2.7") == "192.0.2.7");
  CHECK(network_of("2001:db8:1:2::7") == network_of("2001:db8:1:2:ffff:ffff:ffff:ffff"));
  CHECK(network_of("2001:db8:1:2::7") != network_of("2001:db8:1:3::7"));
  CHECK(network_of("::ffff:192.0.2.7") == "192.0.2.7");
  CHECK(network_of("no address") == "no address");
}

TEST_CASE("a route is found by method and path, plain text before places") {
  const Router router({route("GET", "/api/sittings/{id}"), route("GET", "/api/sittings/new"),
                       route("PUT", "/api/sittings/{id}"), route("GET", "/"), route("GET", "/learn/{item}")});
  CHECK(router.find("GET", "/api/sittings/new").route->pattern == "/api/sittings/new");
  const auto found = router.find("PUT", "/api/sittings/7");
  REQUIRE(found.route);
  CHECK(found.route->method == "PUT");
  CHECK(found.params.at("id") == "7");
  CHECK(router.find("GET", "/").route->pattern == "/");
  CHECK(router.find("DELETE", "/api/sittings/7").allowed == "GET, PUT");
  for (const char* path : {"/api/sittings", "/api/sittings/", "/api/sittings/7/", "/api/sittings/7/x",
                           "/learn", "/learn/", "//", "/learn//"}) {
    INFO(path);
    CHECK(router.find("GET", path).route == nullptr);
    CHECK(router.find("GET", path).allowed.empty());
  }
}

TEST_CASE("a rater id is made of what can be read aloud, and capitals do not count") {
  CHECK(read_rater("Ann") == RaterId("ann"));
  CHECK(read_rater("  ann.lee_2-b ") == RaterId("ann.lee_2-b"));
  CHECK(read_rater("7b") == RaterId("7b"));
  for (const std::string bad :
       {"", "a", " ", ".ann", "-ann", "ann lee", "ann/lee", "ann@lee", "key", "Key", "\xC3\xA9mile"})
    CHECK_FALSE(read_rater(bad));
  CHECK(read_rater(std::string(40, 'a')));
  CHECK_FALSE(read_rater(std::string(41, 'a')));
}

TEST_CASE("the cookie of a session is found among others") {
  const Accounts accounts(true);
  const auto token = [&](const std::string& cookies) {
    Request request;
    request.headers["cookie"] = cookies;
    return token_in(request, accounts);
  };
  CHECK(token("__Host-evenhand=abc") == "abc");
  CHECK(token("a=1; __Host-evenhand=abc; b=2") == "abc");
  CHECK(token("__Host-evenhandy=abc").empty());
  CHECK(token("evenhand=abc").empty());
  CHECK(token("x__Host-evenhand=abc").empty());
  CHECK(token("").empty());
  CHECK(token("__Host-evenhand").empty());
}
