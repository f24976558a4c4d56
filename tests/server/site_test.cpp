#include <fstream>
#include <future>
#include <regex>
#include <thread>
#include <tuple>

#include <SQLiteCpp/SQLiteCpp.h>
#include <catch2/catch.hpp>

#include "server/secrets.hpp"
#include "server/support.hpp"
#include "store/sessions.hpp"
#include "store/tickets.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// The address of the first file of that kind that a page names.
std::string address_in(const std::string& page, const std::string& pattern) {
  std::smatch found;
  REQUIRE(std::regex_search(page, found, std::regex(pattern)));
  return found[1];
}

}  // namespace

TEST_CASE("the site says that it is well") {
  House house;
  const auto answer = house.ask("GET", "/health");
  CHECK(answer.status == 200);
  CHECK(answer.body() == Json{{"status", "ok"}});
}

TEST_CASE("an address that is not there is told from one that is for something else") {
  House house;
  CHECK(house.ask("GET", "/api/nothing").status == 404);
  CHECK(house.ask("GET", "/api/nothing").code() == "not-found");
  const auto other = house.ask("DELETE", "/api/groups", "{}");
  CHECK(other.status == 405);
  CHECK(other.header("Allow") == "POST, GET");
  CHECK(house.ask("GET", "/a/js/nothing.0123456789ab.js").status == 404);
}

TEST_CASE("pages name files that are there, for good, in the encoding that the browser takes") {
  House house;
  const auto page = house.ask("GET", "/sign-in");
  REQUIRE(page.status == 200);
  const auto style = address_in(page.text, "\"(/a/css/[^\"]*\\.css)\"");
  const auto plain = house.ask("GET", style);
  CHECK(plain.status == 200);
  CHECK(plain.type == "text/css; charset=utf-8");
  CHECK(plain.header("Cache-Control") == "public, max-age=31536000, immutable");
  CHECK(plain.count("Content-Encoding") == 0);
  const auto gzip = house.ask("GET", style, "", {{"accept-encoding", "gzip, deflate"}});
  CHECK(gzip.header("Content-Encoding") == "gzip");
  CHECK(gzip.text.size() < plain.text.size());
  const auto brotli = house.ask("GET", style, "", {{"accept-encoding", "gzip, deflate, br, zstd"}});
  CHECK(brotli.header("Content-Encoding") == "br");
  CHECK(brotli.text.size() < gzip.text.size());
  CHECK(brotli.header("Vary") == "Accept-Encoding");
}

TEST_CASE("who looks at a page gets a page when something is wrong, programs get JSON") {
  House house;
  const auto page = house.ask("GET", "/nothing/here");
  CHECK(page.status == 404);
  CHECK(page.type.starts_with("text/html"));
  CHECK(house.ask("GET", "/api/nothing").type == "application/json");
}

TEST_CASE("a fault of ours says its number and nothing else: the log says the rest") {
  House folder;  // for a place to write to
  std::filesystem::create_directories(folder.path("web/page"));
  const auto frame = folder.path("web/page/frame.html");
  std::ofstream(frame) << "frame";
  House house({}, std::nullopt, server::Assets::in_folder(folder.path("web")).value());
  const auto failed = house.ask("GET", "/sign-in");
  CHECK(failed.status == 500);
  const auto body = failed.body();
  CHECK(body.at("error").at("code") == "fault");
  const std::string id = body.at("error").at("request");
  CHECK(failed.text.find("sign-in") == std::string::npos);
  bool logged = false;
  for (const auto& line : house.log()) {
    const auto entry = Json::parse(line);
    logged = logged || (entry.value("level", "") == "error" && entry.at("request") == id &&
                        entry.at("what").get<std::string>().find("sign-in") != std::string::npos);
  }
  CHECK(logged);
}

TEST_CASE("when the store does not answer, so is said, and the next request is served") {
  House house;
  auto ines = instructor(house);
  {
    // Another program holds the store for longer than the site waits.
    SQLite::Database other(house.store_path(), SQLite::OPEN_READWRITE);
    other.exec("BEGIN IMMEDIATE");
    const auto busy = ines.post("/api/groups", {{"title", "Tuesday"}});
    CHECK(busy.status == 503);
    CHECK(busy.code() == "busy");
    CHECK(busy.header("Retry-After") == "2");
    CHECK(busy.text.find("site.db") == std::string::npos);
  }
  CHECK(ines.post("/api/groups", {{"title", "Tuesday"}}).status == 201);
  CHECK(ines.get("/api/groups").body().size() == 1);
}

TEST_CASE("the log has a line a request, and in it nobody's name, address, passphrase or code") {
  House house;
  auto ines = instructor(house, "ines-in-the-log");
  const auto group = open_group(ines);
  student(house, group.code, "ann-in-the-log");
  ines.get("/api/groups/" + group.id + "/members");
  ines.post("/api/groups/" + group.id + "/members/ann-in-the-log/reset");
  Browser(house).post("/api/sign-in", {{"rater", "ann-in-the-log"}, {"passphrase", "not this one"}});
  house.ask("GET", "/learn/4?seed=ann-in-the-log");
  const auto log = house.log();
  REQUIRE(log.size() == 7);
  std::string all;
  for (const auto& line : log) {
    CHECK(line.find('\n') == std::string::npos);
    const auto entry = Json::parse(line);
    std::vector<std::string> names;
    for (const auto& [name, value] : entry.items()) names.push_back(name);
    CHECK(names == std::vector<std::string>{"time", "method", "route", "status", "ms", "request"});
    all += line + '\n';
  }
  CHECK(all.find("in-the-log") == std::string::npos);
  CHECK(all.find("192.0.2.7") == std::string::npos);
  CHECK(all.find(group.code) == std::string::npos);
  CHECK(all.find(group.id) == std::string::npos);
  CHECK(all.find(passphrase) == std::string::npos);
  CHECK(all.find("/api/groups/{id}/members/{rater}/reset") != std::string::npos);
}

TEST_CASE("sessions and codes that are over are forgotten") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  student(house, group.code, "ann");
  const std::string code = ines.post("/api/groups/" + group.id + "/members/ann/reset").body().at("code");
  const auto kept = [&] {
    // The first leads to the tidying, the second comes after it.
    house.ask("GET", "/health");
    house.ask("GET", "/health");
    auto store = house.store();
    const auto ticket =
        store::use_ticket(store, server::code_hash(code, "ann"), store::Purpose::reset, house.now());
    return std::make_tuple(store::sessions_of(store, RaterId("ines")).size(),
                           store::sessions_of(store, RaterId("ann")).size(), ticket.error().code);
  };
  house.wait(std::chrono::hours(24));
  CHECK(kept() == std::make_tuple(1U, 1U, Errc::conflict));
  house.wait(std::chrono::hours(25));
  CHECK(kept() == std::make_tuple(0U, 0U, Errc::not_found));
}

TEST_CASE("what somebody writes into an address does not write into the log") {
  House house;
  house.ask("GET", "/x\"}%0A{\"time\":\"forged");
  house.ask("GET", "/x\"},{\"forged\":\"yes");
  for (const auto& line : house.log()) {
    CHECK(line.find("forged") == std::string::npos);
    CHECK(line.find('\n') == std::string::npos);
  }
  CHECK(house.log().size() == 2);
}

TEST_CASE("what a browser has already is not sent again") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto first = ines.get("/api/instruments/pediatric-balance");
  REQUIRE(first.status == 200);
  const auto tag = first.header("ETag");
  REQUIRE(!tag.empty());
  const auto again = house.ask("GET", "/api/instruments/pediatric-balance", "",
                               {{"if-none-match", tag}, {"cookie", ines.cookie}});
  CHECK(again.status == 304);
  CHECK(again.text.empty());
  CHECK(again.header("ETag") == tag);
  CHECK(house.ask("GET", "/api/instruments/pediatric-balance", "", {{"if-none-match", tag}}).status == 401);
}

TEST_CASE("long answers are compressed where the browser takes it") {
  House house;
  auto ines = instructor(house);
  for (int i = 0; i < 20; ++i) open_group(ines);
  const auto plain = ines.get("/api/groups");
  const auto squeezed =
      house.ask("GET", "/api/groups", "", {{"accept-encoding", "br"}, {"cookie", ines.cookie}});
  CHECK(squeezed.header("Content-Encoding") == "br");
  CHECK(squeezed.text.size() < plain.text.size() / 2);
}

TEST_CASE("many who ask at once are all answered, each with the own answer") {
  House house;
  auto ines = instructor(house);
  std::vector<std::thread> threads;
  std::vector<int> right(8, 0);
  for (std::size_t t = 0; t < right.size(); ++t)
    threads.emplace_back([&, t] {
      Browser browser = ines;
      for (int i = 0; i < 25; ++i) {
        const auto title = "group " + std::to_string(t) + '-' + std::to_string(i);
        const auto made = browser.post("/api/groups", {{"title", title}});
        right[t] += made.status == 201 && made.body().at("title") == title ? 1 : 0;
      }
    });
  for (auto& thread : threads) thread.join();
  CHECK(right == std::vector<int>(8, 25));
  CHECK(ines.get("/api/groups").body().size() == 200);
}
