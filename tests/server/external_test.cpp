// Films and live children on the site: added by a form, scored by a panel that sees nothing of each other,
// closed, and then practiced with.

#include <catch2/catch.hpp>

#include "cases/built_in.hpp"
#include "scores/read_long.hpp"
#include "server/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

const std::string at = "/api/external";

Json film(const Json& more = Json::object()) {
  Json body{{"id", "film-brook"},
            {"instrument", "pediatric-balance"},
            {"kind", "film"},
            {"code", "Brook"},
            {"age", 7},
            {"picture", "Counts everything aloud."},
            {"setting", "A gym with a bench."},
            {"share", "mild"},
            {"find", "Cabinet B, film 4 of 2026"},
            {"minutes", 12},
            {"consent", "The parents agreed to teaching within the department."},
            {"items", {"4", "9"}}};
  body.update(more);
  return body;
}

void add(Browser& who, Json body = film()) {
  const auto preview = who.post(at + "/preview", body);
  INFO(preview.text);
  REQUIRE(preview.status == 200);
  REQUIRE(preview.body().at("faults").empty());
  body["confirm"] = preview.body().at("confirm");
  const auto put = who.put(at, body);
  INFO(put.text);
  REQUIRE(put.status == 200);
}

Json gave(const std::string& four, const std::string& nine) {
  return {{"scores", {{"4", four}, {"9", nine}}}};
}

void close(Browser& who) {
  const auto preview = who.post(at + "/film-brook/panel/preview");
  INFO(preview.text);
  REQUIRE(preview.status == 200);
  const auto put = who.put(at + "/film-brook/panel", {{"confirm", preview.body().at("confirm")}});
  INFO(put.text);
  REQUIRE(put.status == 200);
}

/// Ines leads the department; Otto and Una are instructors.
struct Panel {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  Browser otto = another_instructor(house, "otto");
  Browser una = another_instructor(house, "una");

  Json listed(Browser& who) {
    const auto all = who.get(at).body().at("cases");
    REQUIRE(all.size() == 1);
    return all[0];
  }
};

}  // namespace

TEST_CASE("a form becomes a case file that is looked at, then put into the library without a key") {
  Panel panel;
  CHECK(panel.otto.get(at).body().at("cases").empty());
  const auto preview = panel.otto.post(at + "/preview", film()).body();
  CHECK(std::string(preview.at("text")).find("find: \"Cabinet B, film 4 of 2026\"") != std::string::npos);
  CHECK(panel.otto.get(at).body().at("cases").empty());  // looking changes nothing
  add(panel.otto);
  const auto one = panel.listed(panel.una);
  CHECK(one.at("id") == "film-brook");
  CHECK(one.at("author") == "otto");
  CHECK(one.at("panel").is_null());
  CHECK(one.at("items") == Json({"4", "9"}));
  CHECK(one.at("may_close") == false);
  CHECK(panel.listed(panel.otto).at("may_close") == true);
  CHECK(panel.listed(panel.ines).at("may_close") == true);
  // The name is taken now, and a stale look confirms nothing.
  CHECK(panel.otto.post(at + "/preview", film()).body().at("error").at("field") == "id");
}

TEST_CASE("what is wrong in the form is said of its field", "[edge]") {
  Panel panel;
  const auto field = [&](const Json& more) {
    const auto answer = panel.otto.post(at + "/preview", film(more));
    INFO(answer.text);
    CHECK(answer.status == 422);
    return std::string(answer.body().at("error").at("field"));
  };
  CHECK(field({{"id", "Film Brook"}}) == "id");
  CHECK(field({{"id", "pb-lark"}}) == "id");  // a case of the program: it would be replaced
  CHECK(field({{"id", "pair-reed-2026-09-01"}}) == "id");
  CHECK(field({{"code", " "}}) == "code");
  CHECK(field({{"code", std::string("brook\0", 6)}}) == "code");
  CHECK(field({{"setting", "A hall\x1b[31m"}}) == "setting");
  CHECK(field({{"find", "https://films.example/4"}}) == "find");
  CHECK(field({{"consent", ""}}) == "consent");
  CHECK(field({{"minutes", 0}}) == "minutes");
  CHECK(field({{"age", "seven"}}) == "age");
  CHECK(field({{"kind", "video"}}) == "kind");
  CHECK(field({{"items", Json::array()}}) == "items");
  CHECK(field({{"items", {"4", "99"}}}) == "items");
  CHECK(field({{"instrument", "none"}}) == "instrument");
  Json other = film({{"confirm", std::string(32, '0')}});
  CHECK(panel.otto.put(at, other).code() == "other-preview");
}

TEST_CASE("members of a panel see who has scored, and never what, before it is closed") {
  Panel panel;
  add(panel.otto);
  const auto given = panel.otto.post(at + "/film-brook/readings", gave("3", "2"));
  INFO(given.text);
  REQUIRE(given.status == 201);
  CHECK(panel.una.post(at + "/film-brook/readings", gave("3", "1")).status == 201);
  for (auto* who : {&panel.ines, &panel.otto, &panel.una}) {
    const auto one = panel.listed(*who);
    CHECK(one.at("readers") == Json({"otto", "una"}));
    CHECK(one.dump().find("scores") == std::string::npos);
  }
  CHECK(panel.listed(panel.otto).at("mine") == true);
  CHECK(panel.listed(panel.ines).at("mine") == false);
  // Not even in the look before it is closed: who looks may still score.
  const auto look = panel.ines.post(at + "/film-brook/panel/preview").body();
  CHECK(look.at("members") == 2);
  CHECK(look.at("items") == Json({{{"item", "4"}, {"agreed", true}}, {{"item", "9"}, {"agreed", false}}}));
  CHECK(look.at("compared") == 4);
  CHECK(look.at("agreed") == 2);
  CHECK(look.find("text") == look.end());
  // Once handed in it stands.
  CHECK(panel.otto.post(at + "/film-brook/readings", gave("4", "2")).status == 409);
}

TEST_CASE("a closed panel's key is in force where they agreed, and takes no more scores") {
  Panel panel;
  add(panel.otto);
  REQUIRE(panel.otto.post(at + "/film-brook/readings", gave("3", "2")).status == 201);
  const auto alone = panel.otto.post(at + "/film-brook/panel/preview");
  CHECK(alone.status == 409);
  CHECK(alone.code() == "too-few");
  REQUIRE(panel.una.post(at + "/film-brook/readings", gave("3", "refused")).status == 201);
  const auto early = panel.otto.post(at + "/film-brook/panel/preview").body().at("confirm");
  REQUIRE(panel.ines.post(at + "/film-brook/readings", gave("3", "2")).status == 201);
  // Somebody scored after the look.
  CHECK(panel.otto.put(at + "/film-brook/panel", {{"confirm", early}}).code() == "other-preview");
  close(panel.otto);
  const auto one = panel.listed(panel.una);
  REQUIRE(one.at("panel").is_object());
  CHECK(one.at("panel").at("members") == 3);
  CHECK(one.at("panel").at("keyed") == 1);
  CHECK(one.at("panel").at("split") == Json({"9"}));
  CHECK(one.at("readers").size() == 3);
  CHECK(panel.una.post(at + "/film-brook/readings", gave("3", "2")).status == 409);
  CHECK(panel.otto.post(at + "/film-brook/panel/preview").status == 409);
}

TEST_CASE("a panel is not closed over scores that came in while its key was worked out") {
  for (int i = 0; i < 10; ++i) {
    Panel panel;
    add(panel.otto);
    for (auto* who : {&panel.otto, &panel.ines})
      REQUIRE(who->post(at + "/film-brook/readings", gave("3", "2")).status == 201);
    const auto confirm = panel.otto.post(at + "/film-brook/panel/preview").body().at("confirm");
    const auto [closing, scored] = overtake(
        panel.house,
        [&] { return panel.otto.begin("PUT", at + "/film-brook/panel", {{"confirm", confirm}}); },
        [&] { return panel.una.begin("POST", at + "/film-brook/readings", gave("1", "1")); });
    if (closing.status == 200) {
      CHECK(scored.status == 409);
      continue;
    }
    CHECK(scored.status == 201);
    CHECK(closing.status == 409);
    CHECK(closing.code() == "other-preview");
    CHECK(panel.listed(panel.otto).at("panel").is_null());
    return;
  }
  FAIL("each key was worked out before another member could score");
}

TEST_CASE("only whoever added the case, or a lead, closes its panel: students are told of nothing") {
  Panel panel;
  add(panel.otto);
  REQUIRE(panel.otto.post(at + "/film-brook/readings", gave("3", "2")).status == 201);
  REQUIRE(panel.una.post(at + "/film-brook/readings", gave("3", "2")).status == 201);
  CHECK(panel.una.post(at + "/film-brook/panel/preview").status == 403);
  CHECK(panel.una.put(at + "/film-brook/panel", {{"confirm", "x"}}).status == 403);
  const auto group = open_group(panel.ines);
  auto ann = student(panel.house, group.code, "ann");
  CHECK(ann.get(at).status == 403);
  CHECK(ann.get(at + "/film-brook").status == 403);
  CHECK(ann.post(at + "/preview", film()).status == 403);
  CHECK(ann.put(at, film()).status == 403);
  CHECK(ann.post(at + "/film-brook/readings", gave("3", "2")).status == 403);
  CHECK(ann.post(at + "/film-brook/panel/preview").status == 403);
  CHECK(ann.put(at + "/film-brook/panel", {{"confirm", "x"}}).status == 403);
  CHECK(ann.get("/external").status == 404);
  CHECK(ann.get("/external/film-brook/score").status == 404);
  // What is written in the program has no panel.
  CHECK(panel.otto.get(at + "/pb-lark").status == 404);
  CHECK(panel.otto.post(at + "/pb-lark/readings", gave("3", "2")).status == 404);
}

TEST_CASE("a reading covers every item that the case shows, with scores that there are", "[edge]") {
  Panel panel;
  add(panel.otto);
  const auto field = [&](const Json& body) {
    const auto answer = panel.una.post(at + "/film-brook/readings", body);
    CHECK(answer.status == 422);
    return std::string(answer.body().at("error").at("field"));
  };
  CHECK(field({{"scores", {{"4", "3"}}}}) == "scores.9");
  CHECK(field(gave("3", "7")) == "scores.9");
  CHECK(field({{"scores", {{"4", "3"}, {"9", "2"}, {"1", "4"}}}}) == "scores.1");
  CHECK(field(Json::object()) == "scores");
}

TEST_CASE(
    "a sitting with a film has a pad, a stopwatch for each trial there may be, and the panel's level at the "
    "end") {
  document::Faults faults;
  const std::string text =
      "format: evenhand/case-1\nid: film-brook\ninstrument: pediatric-balance\nchild: {code: Brook, age: 7, "
      "picture: "
      "P.}\nsetting: S.\nshare: mild\nexternal: {kind: film, find: Cabinet B, minutes: 12, consent: "
      "Yes.}\nitems: [\"4\", "
      "\"9\"]\npanel: {members: 3, key: {\"4\": \"3\"}}\n";
  const std::string set =
      "format: evenhand/set-1\nid: films\ntitle: Films\nmode: practice\nentries: [{case: film-brook}]\n";
  auto library = cases::read_library(cases::built_in_files(),
                                     {{{"film-brook.yaml", text}, {"films.yaml", set}}}, faults);
  REQUIRE(faults.text() == "");
  House house({}, std::move(library));
  auto ines = instructor(house);
  auto ann = student(house, open_group(ines).code, "ann");
  const std::string sitting = ann.post("/api/sittings", {{"set", "films"}}).body().at("id");
  const std::string own = "/api/sittings/" + sitting;
  const auto seen = ann.get(own + "/cases/film-brook").body();
  CHECK(seen.at("external").at("find") == "Cabinet B");
  CHECK(seen.at("external").at("caution").is_string());
  REQUIRE(seen.at("items").size() == 2);
  CHECK(seen.at("items")[0].at("trials").size() == 3);
  CHECK(seen.at("items")[0].at("not_given").is_null());
  CHECK(seen.dump().find("panel") == std::string::npos);  // the key is nobody's to see beforehand

  Json answer{{"trial", 2},
              {"status", "observed"},
              {"value", "2"},
              {"observations", {{"hold", "31 s"}}},
              {"stopwatch",
               {{{"trial", 2},
                 {"seconds", 31.2},
                 {"form", "live"},
                 {"start", nullptr},
                 {"stop", nullptr},
                 {"sound", true}}}},
              {"sureness", nullptr}};
  const auto saved = ann.put(own + "/answers/film-brook/4/1", answer);
  INFO(saved.text);
  REQUIRE(saved.status == 200);
  const auto told = saved.body().at("feedback");
  CHECK(told.at("keyed") == true);
  CHECK(told.at("key").at("value") == "3");
  CHECK(told.at("agrees") == false);
  CHECK(told.at("own_level") == "4");
  CHECK(told.at("slips").empty());
  CHECK(told.at("watch").empty());
  CHECK(told.at("notes").dump().find("What you wrote down gives level 4; you scored 2.") !=
        std::string::npos);

  answer["trial"] = 4;
  CHECK(ann.put(own + "/answers/film-brook/9/1", answer).body().at("error").at("field") == "trial");
  answer["trial"] = 1;
  answer["stopwatch"] = Json::array();
  answer["observations"] = Json::object();
  const auto open = ann.put(own + "/answers/film-brook/9/1", answer).body().at("feedback");
  CHECK(open.at("keyed") == false);
  CHECK(open.at("own_level").is_null());
  const auto summary = ann.post(own + "/finish").body().at("summary");
  CHECK(summary.at("scored") == 1);
  CHECK(summary.at("no_key") == 1);
}

TEST_CASE("a closed panel opens again for its author or a lead, with a reason, and others may then score") {
  Panel panel;
  add(panel.otto);
  REQUIRE(panel.otto.post(at + "/film-brook/readings", gave("4", "3")).status == 201);
  REQUIRE(panel.una.post(at + "/film-brook/readings", gave("4", "2")).status == 201);
  const std::string reopen = at + "/film-brook/panel/reopen";
  const Json why{{"why", "Ines has seen the film too"}};
  CHECK(panel.otto.post(reopen, why).code() == "open");
  close(panel.otto);
  CHECK(panel.ines.post(at + "/film-brook/readings", gave("4", "3")).code() == "closed");
  CHECK(panel.una.post(reopen, why).code() == "not-yours");
  CHECK(panel.otto.post(reopen, {{"why", " "}}).status == 422);
  CHECK(panel.otto.post(reopen).status == 422);
  const auto opened = panel.otto.post(reopen, why);
  INFO(opened.text);
  REQUIRE(opened.status == 200);
  CHECK(panel.listed(panel.una).at("panel").is_null());
  // Who scored before stays, and counts with whoever comes.
  CHECK(panel.listed(panel.una).at("readers").size() == 2);
  REQUIRE(panel.ines.post(at + "/film-brook/readings", gave("4", "3")).status == 201);
  close(panel.ines);
  CHECK(panel.listed(panel.otto).at("panel").at("members") == 3);
  std::size_t noted = 0;
  const auto entries = panel.ines.get("/api/audit").body();
  for (const auto& one : entries) noted += one.at("deed") == "reopened-panel" && one.at("actor") == "otto";
  CHECK(noted == 1);
}

TEST_CASE("a panel stays closed once anybody was held against its key, and for who is no instructor") {
  Panel panel;
  add(panel.otto);
  REQUIRE(panel.otto.post(at + "/film-brook/readings", gave("4", "3")).status == 201);
  REQUIRE(panel.una.post(at + "/film-brook/readings", gave("4", "3")).status == 201);
  close(panel.otto);
  const std::string reopen = at + "/film-brook/panel/reopen";
  auto ann = student(panel.house, open_group(panel.otto).code, "ann");
  CHECK(ann.post(reopen, {{"why", "x"}}).status == 403);
  const auto read = scores::read_long("rater,case,item,score\ncyd,film-brook,4,3\n", "paper.csv");
  REQUIRE(read);
  auto store = panel.house.store();
  REQUIRE(
      store.import_scores(read->table, {.name = "paper.csv", .file_fingerprint = "f"}, panel.house.now()));
  CHECK(panel.otto.post(reopen, {{"why", "x"}}).code() == "in-use");
  CHECK_FALSE(panel.listed(panel.otto).at("panel").is_null());
}
