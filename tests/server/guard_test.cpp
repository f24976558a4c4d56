#include <map>
#include <regex>
#include <set>

#include <catch2/catch.hpp>

#include "server/guard.hpp"
#include "server/support.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// A write that would be let through, as far as forgery goes, to a route that anybody may ask.
Answer write(House& house, const Headers& headers) {
  return house.ask("POST", "/api/sign-in", R"({"rater": "ann", "passphrase": "x"})", headers);
}

std::string address_of_style(House& house) {
  const auto page = house.ask("GET", "/sign-in").text;
  std::smatch found;
  REQUIRE(std::regex_search(page, found, std::regex("\"(/a/css/[^\"]*)\"")));
  return found[1];
}

}  // namespace

TEST_CASE("a write is taken from a page of this site, and from nobody else") {
  House house;
  CHECK(write(house, {}).status == 401);
  CHECK(write(house, {{"sec-fetch-site", "cross-site"}}).status == 403);
  CHECK(write(house, {{"sec-fetch-site", "same-site"}}).status == 403);
  CHECK(write(house, {{"sec-fetch-site", "none"}}).status == 403);
  CHECK(write(house, {{"sec-fetch-site", "same-origin "}}).status == 403);
  CHECK(write(house, {{"sec-fetch-site", "cross-site"}, {"origin", "http://localhost:8080"}}).status == 403);
}

TEST_CASE("where a browser does not say which site asks, its Origin must be this one") {
  House house;
  const auto with = [&](const std::string& origin) {
    return write(house, {{"sec-fetch-site", ""}, {"origin", origin}}).status;
  };
  CHECK(with("http://localhost:8080") == 401);
  CHECK(with("") == 403);
  CHECK(with("null") == 403);
  CHECK(with("https://localhost:8080") == 403);
  CHECK(with("http://localhost:8081") == 403);
  CHECK(with("http://localhost:8080.example.org") == 403);
  CHECK(with("https://example.org") == 403);
}

TEST_CASE("a write is JSON: no form of another site can make one") {
  House house;
  const auto with = [&](const std::string& type) { return write(house, {{"content-type", type}}).status; };
  CHECK(with("application/json") == 401);
  CHECK(with("Application/JSON; charset=utf-8") == 401);
  CHECK(with("") == 415);
  CHECK(with("text/plain") == 415);
  CHECK(with("application/x-www-form-urlencoded") == 415);
  CHECK(with("multipart/form-data") == 415);
  CHECK(with("application/json-seq") == 415);
}

TEST_CASE("data is not given to scripts of other sites, pages are to whoever follows a link") {
  House house;
  CHECK(house.ask("GET", "/api/me", "", {{"sec-fetch-site", "cross-site"}}).status == 403);
  CHECK(house.ask("GET", "/api/me", "", {{"sec-fetch-site", "same-origin"}}).status == 401);
  CHECK(house.ask("GET", "/api/me", "", {{"sec-fetch-site", "none"}}).status == 401);
  CHECK(house.ask("GET", "/", "", {{"sec-fetch-site", "cross-site"}}).status == 200);
}

TEST_CASE("a site for one machine does not answer to other names, which may be lent to it") {
  House house;
  const auto with = [&](const std::string& host) {
    return house.ask("GET", "/health", "", {{"host", host}}).status;
  };
  CHECK(with("localhost") == 200);
  CHECK(with("127.0.0.1:8080") == 200);
  CHECK(with("[::1]:8080") == 200);
  CHECK(with("rebound.example.org:8080") == 421);
  CHECK(with("127.0.0.1.example.org") == 421);
  CHECK(with("") == 421);
}

TEST_CASE("a site with an address of its own takes no other") {
  House house({.tls = true, .origin = "https://practice.example.edu", .this_machine_only = false});
  const auto with = [&](const std::string& host, const std::string& origin) {
    return write(house, {{"host", host}, {"sec-fetch-site", ""}, {"origin", origin}}).status;
  };
  CHECK(with("practice.example.edu", "https://practice.example.edu") == 401);
  CHECK(with("practice.example.edu", "http://practice.example.edu") == 403);
  CHECK(with("example.edu", "https://example.edu") == 421);
  CHECK(with("evil-practice.example.edu", "https://evil-practice.example.edu") == 421);
}

TEST_CASE("an origin is a scheme, a host and perhaps a port, and nothing else") {
  const auto read = [](const std::string& typed) { return server::read_origin(typed).value_or(""); };
  CHECK(read("https://practice.example.edu") == "https://practice.example.edu");
  CHECK(read("https://practice.example.edu/") == "https://practice.example.edu");
  CHECK(read("https://Practice.Example.edu:8443") == "https://practice.example.edu:8443");
  CHECK(read("http://192.0.2.7:8080") == "http://192.0.2.7:8080");
  CHECK(read("https://[2001:db8::1]:8443") == "https://[2001:db8::1]:8443");
  CHECK(read("https://[2001:db8::1]") == "https://[2001:db8::1]");
  // Browsers leave the scheme's own port out of what they send.
  CHECK(read("https://practice.example.edu:443/") == "https://practice.example.edu");
  CHECK(read("http://practice.example.edu:80") == "http://practice.example.edu");
  CHECK(read("https://practice.example.edu:80") == "https://practice.example.edu:80");
  for (const char* wrong :
       {"practice.example.edu", "//practice.example.edu", "https://", "https:///", "ftp://example.edu",
        "https://example.edu//", "https://example.edu/practice", "https://example.edu?x",
        "https://example.edu#x", "https://ann@example.edu", "https://example.edu:", "https://example.edu:x",
        "https://example.edu:123456", "https://ex ample.edu", "https://[2001:db8::1", "https://[]",
        "https://2001:db8::1", "null"}) {
    INFO(wrong);
    const auto read_wrong = server::read_origin(wrong);
    REQUIRE_FALSE(read_wrong);
    CHECK(read_wrong.error().message.find("https://practice.example.edu") != std::string::npos);
  }
}

TEST_CASE("behind a proxy, whoever comes past it is refused, whatever is asked for") {
  House house({.tls = true, .this_machine_only = false, .proxies = {"10.0.0.1"}});
  const auto from = [&](const std::string& peer, const std::string& method, const std::string& target) {
    return house.ask(method, target, method == "GET" ? "" : "{}", {{"x-forwarded-for", "10.0.0.1"}}, peer);
  };
  CHECK(from("10.0.0.1", "GET", "/health").status == 200);
  for (const std::string target : {"/health", "/", "/api/me", "/nothing", "/a/css/x.css"}) {
    INFO(target);
    CHECK(from("192.0.2.7", "GET", target).status == 421);
  }
  const auto refused = from("192.0.2.7", "POST", "/api/sign-in");
  CHECK(refused.status == 421);
  CHECK(refused.code() == "past-the-proxy");
}

TEST_CASE("every answer carries the headers that keep a browser on the safe side") {
  House house({.tls = true, .this_machine_only = false});
  auto ines = instructor(house);
  const std::vector<Answer> answers{
      ines.get("/api/me"),
      ines.get("/"),
      ines.get("/sign-in"),
      ines.get("/api/sittings/none"),
      ines.get("/nothing/here"),
      ines.post("/api/groups", {{"title", "Tuesday"}}),
      Browser(house).get("/api/me"),
      house.ask("POST", "/api/sign-in", "{}", {{"sec-fetch-site", "cross-site"}}),
      house.ask("PUT", "/api/me", "{}"),
      house.ask("GET", "/%00"),
      house.ask("GET", address_of_style(house)),
  };
  std::set<unsigned> statuses;
  for (const auto& answer : answers) {
    INFO(answer.status << ' ' << answer.text.substr(0, 200));
    statuses.insert(answer.status);
    CHECK(answer.header("Content-Security-Policy") ==
          "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
          "font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; "
          "require-trusted-types-for 'script'; trusted-types evenhand");
    CHECK(answer.header("X-Content-Type-Options") == "nosniff");
    CHECK(answer.header("Referrer-Policy") == "no-referrer");
    CHECK(answer.header("X-Frame-Options") == "DENY");
    CHECK(answer.header("Cross-Origin-Opener-Policy") == "same-origin");
    CHECK(answer.header("Cross-Origin-Embedder-Policy") == "require-corp");
    CHECK(answer.header("Cross-Origin-Resource-Policy") == "same-origin");
    CHECK(answer.header("Strict-Transport-Security") == "max-age=31536000");
    CHECK(answer.count("Cache-Control") == 1);
    const bool file = answer.type.starts_with("text/css");
    CHECK(answer.header("Cache-Control") == (file ? "public, max-age=31536000, immutable" : "no-store"));
  }
  CHECK(statuses == std::set<unsigned>{200, 201, 400, 401, 403, 404, 405});
}

TEST_CASE("browsers are told to insist on TLS only where there is TLS") {
  House house;
  CHECK(house.ask("GET", "/health").count("Strict-Transport-Security") == 0);
}

TEST_CASE("a forwarded address is believed from the proxy alone, and only what it added itself") {
  server::Request request{.method = "GET", .path = "/", .peer = "10.0.0.1"};
  const server::Reach reach{.proxies = {"10.0.0.1"}};
  CHECK(server::browser_of(request, reach) == "10.0.0.1");
  request.headers["x-forwarded-for"] = "192.0.2.7";
  CHECK(server::browser_of(request, reach) == "192.0.2.7");
  request.headers["x-forwarded-for"] = "203.0.113.1, 192.0.2.7";
  CHECK(server::browser_of(request, reach) == "192.0.2.7");
  // Some proxies write the port too, which is another one with each connection.
  for (const auto& [written, means] : std::map<std::string, std::string>{{"192.0.2.7:50123", "192.0.2.7"},
                                                                         {"[2001:db8::7]:443", "2001:db8::7"},
                                                                         {"[2001:db8::7]", "2001:db8::7"},
                                                                         {"2001:db8::7", "2001:db8::7"}}) {
    request.headers["x-forwarded-for"] = "203.0.113.1, " + written;
    CHECK(server::browser_of(request, reach) == means);
  }
  for (const std::string none :
       {"unknown", "_hidden", "[", "192.0.2.7, ", "1.2.3.4.5", "111111111111111111111111111"}) {
    request.headers["x-forwarded-for"] = none;
    CHECK(server::browser_of(request, reach) == "10.0.0.1");
  }
  request.headers["x-forwarded-for"] = "192.0.2.7";
  request.peer = "192.0.2.99";
  CHECK(server::browser_of(request, reach) == "192.0.2.99");
}
