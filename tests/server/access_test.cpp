// Every route of the table is tried by who may not: a new one cannot be forgotten.

#include <map>
#include <set>
#include <string>

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;
using server::Access;

namespace {

/// Fills the places of a pattern; what no value is given for becomes "x".
std::string filled(const std::string& pattern, const std::map<std::string, std::string>& values) {
  std::string path;
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    if (pattern[i] != '{') {
      path += pattern[i];
      continue;
    }
    const auto end = pattern.find('}', i);
    const auto value = values.find(pattern.substr(i + 1, end - i - 1));
    path += value == values.end() ? "x" : value->second;
    i = end;
  }
  return path;
}

bool is_page(const server::Route& route) { return !route.pattern.starts_with("/api/"); }

}  // namespace

TEST_CASE("who is not signed in gets nothing of what needs an account") {
  House house;
  std::size_t tried = 0;
  for (const auto& route : house.site().routes()) {
    if (route.access == Access::anyone) continue;
    INFO(route.method << ' ' << route.pattern);
    ++tried;
    const auto answer = house.ask(route.method, filled(route.pattern, {}), "{}");
    CHECK(answer.status == 401);
    CHECK(answer.code() == "sign-in");
    // Nor with a cookie that nobody was given.
    CHECK(house
              .ask(route.method, filled(route.pattern, {}), "{}",
                   {{"cookie", "__Host-evenhand=AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"}})
              .status == 401);
  }
  CHECK(tried >= 20);
}

TEST_CASE("what anybody may ask for is this, and no more") {
  House house;
  std::set<std::string> open;
  for (const auto& route : house.site().routes())
    if (route.access == Access::anyone && !is_page(route)) open.insert(route.method + ' ' + route.pattern);
  CHECK(open == std::set<std::string>{"POST /api/claim", "POST /api/join", "POST /api/reset",
                                      "POST /api/setup", "POST /api/sign-in", "POST /api/sign-out"});
}

TEST_CASE("seven pages are open to all, and the others send those who have no account to sign in") {
  House house;
  std::set<std::string> open;
  std::size_t closed = 0;
  for (const auto& route : house.site().routes()) {
    if (!is_page(route) || route.pattern == "/health" || route.pattern == "/sw.js") continue;
    INFO(route.pattern);
    const auto path = filled(route.pattern, {});
    const auto answer = house.ask("GET", path);
    if (answer.status == 200) {
      open.insert(route.pattern);
      continue;
    }
    ++closed;
    CHECK(answer.status == 303);
    CHECK(answer.header("Location") == "/sign-in?next=" + path);
    CHECK(answer.text.empty());
  }
  CHECK(open == std::set<std::string>{"/", "/join", "/sign-in", "/setup", "/reset", "/claim", "/about"});
  CHECK(closed >= 6);
}

TEST_CASE("a student gets nothing of what is for instructors") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  std::size_t tried = 0;
  for (const auto& route : house.site().routes()) {
    if (route.access != Access::instructor) continue;
    INFO(route.method << ' ' << route.pattern);
    ++tried;
    const auto answer = ann.ask(route.method, filled(route.pattern, {{"id", group.id}, {"rater", "ann"}}),
                                route.method == "GET" ? "" : "{}");
    CHECK(answer.status == 403);
    CHECK(answer.code() == "not-yours");
  }
  CHECK(tried >= 6);
}

TEST_CASE("another person's sittings, sessions and groups answer as if there were none") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  auto ben = student(house, group.code, "ben");
  auto otto = another_instructor(house, "otto");
  const auto begun = ann.post("/api/sittings", {{"set", "pb-first-steps"}});
  REQUIRE(begun.status == 201);
  const std::string sitting = begun.body().at("id");
  const auto step = ann.get("/api/sittings/" + sitting).body().at("steps")[0];
  const std::string session = ann.get("/api/sessions").body()[0].at("id");

  const std::string round =
      ines.post("/api/rounds",
                {{"title", "Spring"}, {"set", "pb-round-demonstration"}, {"groups", Json::array({group.id})}})
          .body()
          .at("id");

  std::size_t tried = 0;
  for (const auto& route : house.site().routes()) {
    if (is_page(route) || route.pattern.find("{id}") == std::string::npos) continue;
    if (route.pattern.starts_with("/api/instruments/")) continue;  // everybody's
    INFO(route.method << ' ' << route.pattern);
    ++tried;
    std::map<std::string, std::string> values{
        {"case", step.at("case")}, {"item", step.at("item")}, {"revision", "1"}, {"rater", "ann"}};
    Browser* other = &ben;
    std::string id = sitting;
    if (route.pattern.starts_with("/api/groups/")) other = &otto, id = group.id;
    if (route.pattern.starts_with("/api/sessions/")) id = session;
    if (route.pattern.starts_with("/api/rounds/")) other = &otto, id = round;
    const auto ask = [&](Browser& who, const std::string& whose) {
      values["id"] = whose;
      // A body that the owner could send.
      const Json body{{"trial", nullptr},
                      {"status", "refused"},
                      {"value", nullptr},
                      {"observations", Json::object()},
                      {"stopwatch", Json::array()},
                      {"sureness", nullptr},
                      {"at", "2026-09-01T08:00:00Z"}};
      return who.ask(route.method, filled(route.pattern, values), route.method == "GET" ? "" : body.dump());
    };
    const auto answer = ask(*other, id);
    CHECK(answer.status == 404);
    // The very same as where nothing ever was.
    CHECK(answer.text == ask(*other, "019a0000-0000-7000-8000-000000000000").text);
  }
  CHECK(tried >= 11);
  CHECK(ann.get("/api/sittings/" + sitting).body().at("answers").empty());
  CHECK(ann.get("/api/me").status == 200);
}

TEST_CASE("every write is refused to other sites, before anything else is looked at") {
  House house;
  for (const auto& route : house.site().routes()) {
    if (route.method == "GET") continue;
    INFO(route.method << ' ' << route.pattern);
    const auto path = filled(route.pattern, {});
    CHECK(house.ask(route.method, path, "{}", {{"sec-fetch-site", "cross-site"}}).status == 403);
    CHECK(house.ask(route.method, path, "{}", {{"sec-fetch-site", ""}}).status == 403);
    CHECK(house.ask(route.method, path, "{}", {{"content-type", "text/plain"}}).status == 415);
  }
}

TEST_CASE("every write refuses what is no JSON, too deep, or names a thing twice") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  const std::string sitting = ann.post("/api/sittings", {{"set", "pb-first-steps"}}).body().at("id");
  const auto step = ann.get("/api/sittings/" + sitting).body().at("steps")[0];
  const std::string deep = R"({"a":)" + std::string(40, '[') + std::string(40, ']') + "}";
  for (const auto& route : house.site().routes()) {
    if (route.method == "GET") continue;
    auto& who = route.access == Access::instructor ? ines : ann;
    const auto path =
        filled(route.pattern, {{"id", route.pattern.starts_with("/api/groups") ? group.id : sitting},
                               {"case", step.at("case")},
                               {"item", step.at("item")},
                               {"revision", "1"}});
    for (const std::string& body : {std::string("{"), std::string("[]"), std::string("{\"a\":\"\xff\"}"),
                                    deep, std::string(R"({"a":1,"a":2})")}) {
      INFO(route.method << ' ' << path << ' ' << body.substr(0, 40));
      const auto answer = who.ask(route.method, path, body);
      CHECK(answer.status == 400);
      CHECK(answer.code() == "malformed");
    }
  }
}

namespace {

/// Ines leads the department and made all of this; Otto is an instructor who made none of it.
struct Department {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  Browser otto = another_instructor(house, "otto");
  std::string import;

  Department() {
    Json rows{{"name", "paper.csv"}, {"text", "rater,case,item,score\nann,pb-lark,1,4\n"}};
    rows["confirm"] = made(ines.post("/api/imports/preview", rows)).at("confirm");
    import = std::to_string(made(ines.post("/api/imports", rows)).at("number").get<int>());
    made(ines.post("/api/workshop/drafts", {{"instrument", "pediatric-balance"},
                                            {"id", "pb-robin"},
                                            {"code", "Robin"},
                                            {"age", 7.5},
                                            {"share", "mild"},
                                            {"picture", "Hums."},
                                            {"setting", "A gym."}}));
    Json film{{"id", "pb-robin-film"},
              {"instrument", "pediatric-balance"},
              {"kind", "film"},
              {"code", "Brook"},
              {"age", 7},
              {"picture", "Counts everything aloud."},
              {"setting", "A gym with a bench."},
              {"share", "mild"},
              {"find", "Cabinet B"},
              {"minutes", 12},
              {"consent", "The parents agreed."},
              {"items", {"4", "9"}}};
    film["confirm"] = made(ines.post("/api/external/preview", film)).at("confirm");
    made(ines.put("/api/external", film));
  }

  static Json made(const Answer& answer) {
    INFO(answer.text);
    REQUIRE(answer.status < 300);
    return answer.body();
  }
};

/// What is for instructors and names no group and no round: any of them may ask for it, and is told of what
/// the department shares, or of own things only.
const std::set<std::string> for_any_instructor{
    "GET /api/groups",
    "POST /api/groups",
    "GET /api/rounds",
    "POST /api/rounds",  // for own groups
    "GET /api/rounds/choices",
    "GET /api/planning",
    "POST /api/planning/plan",
    "GET /api/imports",
    "POST /api/imports",  // of own raters
    "POST /api/imports/preview",
    "GET /api/imports/choices",
    "GET /api/external",
    "PUT /api/external",
    "POST /api/external/preview",
    "GET /api/external/{case}",
    "POST /api/external/{case}/readings",
    "GET /api/rulings/{instrument}",
    "POST /api/rulings/{instrument}/preview",
    "GET /api/own-sets",
    "GET /api/own-sets/choices",
    "POST /api/own-sets/cover",
    "POST /api/own-sets/draw",
    "GET /api/own-sets/{set}",
    "PUT /api/own-sets/{set}",  // own_sets_test: by whoever put it in force first, or a lead
    "GET /api/own-sets/{set}/sheet",
    "POST /api/own-sets/{set}/preview",
    "GET /api/workshop",
    "POST /api/workshop/check",
    "POST /api/workshop/drafts",
    "GET /api/standard",
    "POST /api/standard/curves",
    "GET /api/standard/correlation",
    "GET /api/standard/due",
};

}  // namespace

TEST_CASE("what another instructor made, and what the lead decides, is refused to an instructor") {
  Department at;
  std::set<std::string> tried, open;
  for (const auto& route : at.house.site().routes()) {
    if (route.access != Access::instructor || route.pattern.find("{id}") != std::string::npos) continue;
    const auto name = route.method + ' ' + route.pattern;
    if (for_any_instructor.contains(name)) {
      open.insert(name);
      continue;
    }
    INFO(name);
    tried.insert(name);
    const bool film = route.pattern.starts_with("/api/external/");
    const auto path = filled(route.pattern, {{"case", film ? "pb-robin-film" : "pb-robin"},
                                             {"number", at.import},
                                             {"version", "1"},
                                             {"instrument", "pediatric-balance"}});
    const auto answer = at.otto.ask(route.method, path, route.method == "GET" ? "" : "{}");
    CHECK((answer.status == 403 || answer.status == 404));
  }
  CHECK(open == for_any_instructor);
  CHECK(tried.size() >= 17);
  // And all of it is as it was.
  CHECK(at.ines.get("/api/imports").body()[0].at("undone").is_null());
  CHECK(at.ines.get("/api/workshop/drafts/pb-robin").status == 200);
}
