// Sets that instructors compose on the site.

#include <algorithm>
#include <regex>

#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "report/score_sheet.hpp"
#include "server/support.hpp"
#include "server/ward.hpp"
#include "store/department_texts.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

const std::string sets = "/api/own-sets";

Json entry(const std::string& of_case, const std::vector<std::string>& items) {
  return {{"case", of_case}, {"items", items}};
}

Json draft(const std::string& id = "our-first", const std::string& mode = "practice") {
  return {{"id", id},
          {"title", "Our first"},
          {"mode", mode},
          {"demonstration", false},
          {"retired", false},
          {"instrument", "pediatric-balance"},
          {"entries", Json::array({entry("pb-lark", {"1", "4"}), entry("pb-otter", {"2"})})}};
}

Json preview(Browser& who, const Json& of) {
  const auto answer = who.post(sets + "/" + std::string(of.at("id")) + "/preview", of);
  INFO(answer.text);
  REQUIRE(answer.status == 200);
  return answer.body();
}

/// Puts it in force, after a look.
Answer put(Browser& who, Json of) {
  const auto looked = preview(who, of);
  INFO(looked.dump());
  REQUIRE(looked.at("confirm").is_string());
  of["why"] = "For the fall class";
  of["confirm"] = looked.at("confirm");
  return who.put(sets + "/" + std::string(of.at("id")), of);
}

std::vector<std::string> fields(const Json& faults) {
  std::vector<std::string> all;
  for (const auto& one : faults) all.push_back(one.at("field").is_null() ? "" : std::string(one.at("field")));
  return all;
}

std::string says(const Json& faults, const std::string& field) {
  for (const auto& one : faults)
    if (one.at("field") == field) return one.at("says");
  return "";
}

Json listed(Browser& who, const std::string& id) {
  for (const auto& one : who.get("/api/sets").body())
    if (one.at("id") == id) return one;
  return nullptr;
}

}  // namespace

TEST_CASE("a set is composed, looked at, put in force, kept with its reason, and can be practiced with") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto looked = preview(ines, draft());
  CHECK(looked.at("faults").empty());
  CHECK(looked.at("changes")[0] == "A new set: 2 cases, for practice.");
  CHECK(std::string(looked.at("text")).find("id: \"our-first\"") != std::string::npos);
  CHECK(ines.get(sets + "/our-first").status == 404);  // looking changes nothing
  CHECK(listed(ines, "our-first").is_null());

  REQUIRE(put(ines, draft()).status == 200);
  const auto one = ines.get(sets + "/our-first").body();
  CHECK(one.at("draft") == draft());
  CHECK(one.at("own") == true);
  CHECK(one.at("by") == "ines");
  CHECK(one.at("asks_stay") == false);
  REQUIRE(one.at("versions").size() == 1);
  CHECK(one.at("versions")[0].at("why") == "For the fall class");

  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  CHECK(listed(ann, "our-first").at("items") == 3);
  CHECK(ann.post("/api/sittings", {{"set", "our-first"}}).status == 201);
  // Noted, as whatever changes what others work with.
  bool noted = false;
  for (const auto& deed : ines.get("/api/audit").body())
    noted = noted || (deed.at("deed") == "composed-set" &&
                      std::string(deed.at("about")).find("our-first") != std::string::npos);
  CHECK(noted);
}

TEST_CASE(
    "beside the form stands what the draft exercises: items by level, and what decides nothing and why") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto of = draft();
  of["entries"] = ines.get(sets + "/pb-demonstration").body().at("draft").at("entries");
  of["mode"] = "skills-check";
  of["demonstration"] = true;
  const auto found = ines.post(sets + "/cover", of).body();
  CHECK(found.at("faults").empty());
  const auto& cover = found.at("cover");
  CHECK(cover.at("cases") == 16);
  CHECK(cover.at("scores") == 112);
  CHECK(cover.at("half_cases") == 16);
  CHECK(cover.at("decides") == 0);  // no second reader has scored a shipped case
  int out = 0;
  for (const auto& one : cover.at("left_out")) out += int(one.at("scores"));
  CHECK(out == 112);
  REQUIRE(cover.at("items").size() == 14);
  int keys = 0;
  for (const auto& item : cover.at("items")) {
    CHECK(item.at("shown") == 8);
    for (const auto& level : item.at("levels")) {
      keys += int(level.at("keys"));
      CHECK(int(level.at("borderline")) + int(level.at("gray")) + int(level.at("unconfirmed")) ==
            int(level.at("keys")));
    }
  }
  CHECK(keys > 80);
  // tests/cases/coherence_test.cpp holds the shipped demonstration to the blueprint.
  CHECK(cover.at("blueprint").at("met") == true);
  CHECK(std::string(cover.at("looks")[0]).starts_with("It reaches 1 of the 3 looks"));

  of["entries"].erase(3);
  of["entries"][0]["items"] = {"1", "3"};
  const auto less = ines.post(sets + "/cover", of).body().at("cover");
  CHECK(std::string(less.at("looks")[0]).find("decides nothing") != std::string::npos);
  CHECK(std::string(less.at("looks")[1]) ==
        "The standard reckons with 7 items a case; 1 of the 15 cases have another number.");
}

TEST_CASE("faults stand at the fields they come from, and nothing with one is put in force") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto of = draft("Our First", "exam");
  of["title"] = "";
  of["entries"] = Json::array({entry("pb-lark", {"1"}), entry("pb-lrk", {"1"}), entry("pb-otter", {"99"}),
                               entry("pb-lark", {"2"}), entry("pb-hare", Json::array())});
  const auto found = ines.post(sets + "/cover", of).body().at("faults");
  const auto at = fields(found);
  for (const auto* field : {"id", "title", "mode", "entry-1", "entry-2", "entry-3", "entry-4"}) {
    INFO(field);
    CHECK(std::ranges::find(at, field) != at.end());
  }
  CHECK(std::ranges::find(at, "entry-0") == at.end());
  CHECK(says(found, "entry-1").find("`pb-lark`") != std::string::npos);  // did you mean

  auto check = draft("our-check", "skills-check");
  CHECK(says(preview(ines, check).at("faults"), "entry-0").find("no second reader") != std::string::npos);
  // In the words of the form, not of the file.
  CHECK(says(preview(ines, check).at("faults"), "entry-0").find("reviewed_by") == std::string::npos);
  CHECK(says(preview(ines, check).at("faults"), "entry-0").find("demonstration: yes") == std::string::npos);
  check["why"] = "x";
  check["confirm"] = "x";
  CHECK(ines.put(sets + "/our-check", check).status == 422);

  CHECK(says(preview(ines, draft("pb-all")).at("faults"), "id").find("comes with the program") !=
        std::string::npos);
  CHECK(says(preview(ines, draft("next-1")).at("faults"), "id").find("for one rater") != std::string::npos);
  CHECK(says(preview(ines, draft("draw")).at("faults"), "id").find("take another") != std::string::npos);
  CHECK(ines.post(sets + "/other/preview", draft()).status == 422);  // the address names another set
  CHECK(ines.post(sets + "/cover", {{"id", "x"}}).status == 422);
  auto unknown = draft();
  unknown["instrument"] = "none";
  CHECK(ines.post(sets + "/cover", unknown).status == 422);
  CHECK(store::all_texts(*std::make_unique<store::Store>(house.store())).empty());
}

TEST_CASE("a set that scores rest on keeps what it asks for: its title may change") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  REQUIRE(put(ines, draft()).status == 200);
  // Nothing rests on it yet.
  auto wider = draft();
  wider["entries"].push_back(entry("pb-hare", {"1"}));
  REQUIRE(put(ines, wider).status == 200);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  const auto looked = preview(ines, draft());
  REQUIRE(looked.at("confirm").is_string());
  REQUIRE(ann.post("/api/sittings", {{"set", "our-first"}}).status == 201);
  CHECK(says(preview(ines, draft()).at("faults"), "id").find("take a new name") != std::string::npos);
  // Nor by a token from before the sitting.
  auto late = draft();
  late["why"] = "x";
  late["confirm"] = looked.at("confirm");
  CHECK(ines.put(sets + "/our-first", late).status == 422);
  CHECK(ines.get(sets + "/our-first").body().at("draft").at("entries").size() == 3);
  CHECK(ines.get(sets + "/our-first").body().at("asks_stay") == true);
  wider["title"] = "Our first, renamed";
  CHECK(put(ines, wider).status == 200);
  CHECK(listed(ann, "our-first").at("title") == "Our first, renamed");
}

TEST_CASE(
    "a withdrawn set is begun and given no more, what was scored stays readable, and it can come back") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  REQUIRE(put(ines, draft()).status == 200);
  const std::string given_at = "/api/groups/" + group.id + "/assignments";
  const Json give{
      {"set", "our-first"}, {"opens", "2026-09-01T08:00:00Z"}, {"closes", "2030-09-08T08:00:00Z"}};
  const auto given = ines.post(given_at, give);
  REQUIRE(given.status == 201);
  auto gone = draft();
  gone["retired"] = true;
  // While it is given, it is not withdrawn under the hands of those who score it.
  CHECK(says(preview(ines, gone).at("faults"), "retired").find("given to 1 group") != std::string::npos);
  const std::string sitting = ann.post("/api/sittings", {{"set", "our-first"}}).body().at("id");
  REQUIRE(ines.erase(given_at + "/" + std::string(given.body().at("id"))).status == 200);
  auto bob = student(house, group.code, "bob");
  REQUIRE(put(ines, gone).status == 200);
  CHECK(listed(bob, "our-first").is_null());
  CHECK(bob.post("/api/sittings", {{"set", "our-first"}}).status == 409);
  CHECK(ines.post(given_at, give).status == 422);
  CHECK(ann.get("/api/sittings/" + sitting).status == 200);
  CHECK(ines.get(sets + "/our-first").body().at("versions").size() == 2);
  REQUIRE(put(ines, draft()).status == 200);
  CHECK(bob.post("/api/sittings", {{"set", "our-first"}}).status == 201);
}

TEST_CASE("a set is changed by whoever put it in force and by the lead, and by nobody else") {
  House house({}, shipped_library());
  auto ines = instructor(house);  // the lead
  auto otto = another_instructor(house, "otto");
  auto rosa = another_instructor(house, "rosa");
  REQUIRE(put(otto, draft()).status == 200);
  CHECK(says(preview(rosa, draft()).at("faults"), "id").find("Somebody else") != std::string::npos);
  CHECK(rosa.get(sets + "/our-first").body().at("may_change") == false);
  CHECK(otto.get(sets + "/our-first").body().at("may_change") == true);
  auto by_lead = draft();
  by_lead["title"] = "By the lead";
  REQUIRE(put(ines, by_lead).status == 200);
  // It stays the one's who put it in force first.
  CHECK(put(otto, draft()).status == 200);
}

TEST_CASE("students get nothing of composing, nor a skills check that was not given to them") {
  auto library = confirmed_library();
  library.sets.at("pb-demonstration").demonstration = false;
  House house({}, library);
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  CHECK(listed(ann, "pb-demonstration").is_null());
  CHECK_FALSE(listed(ines, "pb-demonstration").is_null());
  CHECK(ann.post("/api/sittings", {{"set", "pb-demonstration"}}).status == 409);
  REQUIRE(ines.post("/api/groups/" + group.id + "/assignments", {{"set", "pb-demonstration"},
                                                                 {"opens", "2026-01-01T08:00:00Z"},
                                                                 {"closes", "2030-09-08T08:00:00Z"}})
              .status == 201);
  CHECK_FALSE(listed(ann, "pb-demonstration").is_null());
  CHECK(ann.post("/api/sittings", {{"set", "pb-demonstration"}}).status == 201);
  for (const auto* path : {"", "/choices", "/pb-all"}) CHECK(ann.get(sets + path).status == 403);
  CHECK(ann.post(sets + "/cover", draft()).status == 403);
  CHECK(ann.post(sets + "/draw", draft()).status == 403);
  CHECK(ann.post(sets + "/our-first/preview", draft()).status == 403);
  CHECK(ann.put(sets + "/our-first", draft()).status == 403);
}

TEST_CASE(
    "who has met a case is told by group, and a drawn set keeps to cases that nobody in a group has met") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto");
  const auto group = open_group(ines), other = open_group(otto);
  auto ann = student(house, group.code, "ann");
  auto bob = student(house, other.code, "bob");
  REQUIRE(put(ines, draft()).status == 200);
  const std::string sitting = ann.post("/api/sittings", {{"set", "our-first"}}).body().at("id");
  const auto step = ann.get("/api/sittings/" + sitting).body().at("steps")[0];
  const std::string met = step.at("case");
  REQUIRE(ann.put("/api/sittings/" + sitting + "/answers/" + met + "/" + std::string(step.at("item")) + "/1",
                  {{"trial", nullptr},
                   {"status", "observed"},
                   {"value", "3"},
                   {"observations", Json::object()},
                   {"stopwatch", Json::array()},
                   {"sureness", nullptr}})
              .status == 200);
  const auto seen = [&](Browser& who) {
    auto of = draft("another");
    return who.post(sets + "/cover", of).body().at("seen");
  };
  const auto by_otto = seen(otto);
  REQUIRE(by_otto.at("groups").size() == 1);  // an instructor hears of own groups only
  CHECK(by_otto.at("groups")[0].at("seen") == 0);
  CHECK(by_otto.at("cases").at(met) == 0);
  const auto by_lead = seen(ines);
  REQUIRE(by_lead.at("groups").size() == 2);
  CHECK(by_lead.at("cases").at(met) == 1);
  int with_ann = 0;
  for (const auto& one : by_lead.at("groups")) with_ann += int(one.at("seen"));
  CHECK(with_ann == 1);

  auto of = draft("drawn", "skills-check");
  of["demonstration"] = true;
  of["draw_cases"] = 16;
  of["draw_items"] = 7;
  of["draw_seed"] = 4;
  of["draw_group"] = group.id;
  const auto drawn = ines.post(sets + "/draw", of);
  REQUIRE(drawn.status == 200);
  CHECK(drawn.body().at("entries").size() == 16);
  CHECK(drawn.body().at("from") == 16);  // of 17
  const auto body = drawn.body();
  for (const auto& one : body.at("entries")) CHECK(one.at("case") != met);
  CHECK(ines.post(sets + "/draw", of).body() == drawn.body());
  // Another's group is none; without second readers nothing can be drawn for a check that decides.
  CHECK(otto.post(sets + "/draw", of).body().at("error").at("field") == "draw_group");
  of["demonstration"] = false;
  const auto none = ines.post(sets + "/draw", of);
  CHECK(none.status == 422);
  CHECK(none.body().at("error").at("field") == "draw_cases");
  CHECK(std::string(none.body().at("error").at("says")).find("only 0 can be drawn from") !=
        std::string::npos);
  of["draw_items"] = 5;
  of["demonstration"] = true;
  CHECK(ines.post(sets + "/draw", of).body().at("error").at("field") == "draw_items");
}

TEST_CASE("score sheets of a set are for instructors to print, and hold no key") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto");
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  const std::string path = sets + "/pb-demonstration/sheet";
  const auto denied = ann.get(path);
  CHECK(denied.status == 403);
  CHECK(denied.text.find("<table") == std::string::npos);
  CHECK(house.ask("GET", path).status == 401);
  CHECK(otto.get(sets + "/none/sheet").status == 404);
  CHECK(otto.get(path + "?format=xlsx").body().at("error").at("field") == "format");
  CHECK(otto.get(path + "?format=json").body().at("error").at("field") == "format");

  const auto sheet = otto.get(path);
  REQUIRE(sheet.status == 200);
  // The same sheet as of the command, so without anything that follows from a key.
  const auto& set = shipped_library().sets.at("pb-demonstration");
  const auto date = base::to_date(house.now());
  std::smatch program;
  REQUIRE(std::regex_search(sheet.text, program, std::regex(R"(evenhand \d+\.\d+\.\d+)")));
  CHECK(sheet.text == report::score_sheet_html(shipped_library(), set, {program.str(), date}));
  for (const auto& entry : set.entries) {
    const auto& one = shipped_library().cases.at(entry.case_id.text());
    CHECK(sheet.text.find(one.id.text()) != std::string::npos);
    for (const auto& item : one.items)
      for (const auto& trial : item.trials)
        if (!trial.written.empty()) CHECK(sheet.text.find(trial.written) == std::string::npos);
  }
}
