// The result of a round on the site: only when it closed, and of whom the reader may see.

#include <chrono>

#include <catch2/catch.hpp>

#include "scores/read_long.hpp"
#include "server/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// Scores of some raters at the cases of the round's set, in a round: each gives one level all over.
void bring(House& house, const std::string& round,
           const std::vector<std::pair<std::string, std::string>>& raters) {
  std::string csv = "rater,round,case,item,score\n";
  for (const auto& entry : shipped_library().sets.at("pb-round-demonstration").entries)
    for (const auto& item : entry.items)
      for (const auto& [rater, level] : raters)
        csv += rater + "," + round + "," + entry.case_id.text() + "," + item.text() + "," + level + "\n";
  const auto read = scores::read_long(csv, "paper.csv");
  REQUIRE(read);
  auto store = house.store();
  REQUIRE(store.import_scores(read->table, {"paper.csv", "f"}, house.now()));
}

std::string open_round(Browser& who, const std::string& title, const std::vector<std::string>& groups) {
  const auto made =
      who.post("/api/rounds", {{"title", title}, {"set", "pb-round-demonstration"}, {"groups", groups}});
  REQUIRE(made.status == 201);
  return made.body().at("id");
}

}  // namespace

TEST_CASE("the result of a round comes when it closes, with the rounds before it, for the reader's raters") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto"), ola = another_instructor(house, "ola");
  const auto ottos = open_group(otto), olas = open_group(ola);
  auto ann = student(house, ottos.code, "ann");
  auto ben = student(house, olas.code, "ben");
  const auto first = open_round(ines, "Fall", {ottos.id, olas.id});
  CHECK(ines.get("/api/rounds/" + first + "/result").code() == "not-yet");
  bring(house, first, {{"ann", "3"}, {"ben", "2"}, {"paper-rater", "4"}});
  REQUIRE(ines.post("/api/rounds/" + first + "/close").status == 200);
  const auto all = ines.get("/api/rounds/" + first + "/result");
  REQUIRE(all.status == 200);
  CHECK(all.body().at("format") == "evenhand/calibration-1");
  CHECK(all.body().at("group").at("raters") == 3);
  CHECK(all.body().at("raters").size() == 3);
  CHECK_FALSE(all.body().at("agenda").at("points").empty());

  const auto own = otto.get("/api/rounds/" + first + "/result");
  REQUIRE(own.status == 200);
  CHECK(own.body().at("group").at("raters") == 1);
  CHECK(own.text.find("\"ben\"") == std::string::npos);
  CHECK(own.text.find("paper-rater") == std::string::npos);

  house.wait(std::chrono::minutes(10));
  const auto second = open_round(ines, "Spring", {ottos.id});
  bring(house, second, {{"ann", "2"}});
  REQUIRE(ines.post("/api/rounds/" + second + "/close").status == 200);
  const auto later = ines.get("/api/rounds/" + second + "/result").body();
  CHECK(later.at("rounds").size() == 2);
  CHECK(later.at("since_last").at("common_raters") == 1);
  // An earlier result is not told by what came later.
  CHECK(ines.get("/api/rounds/" + first + "/result").body().at("rounds").size() == 1);
  CHECK(ola.get("/api/rounds/" + second + "/result").status == 404);
}

TEST_CASE("a round that nobody scored has no result, and says so") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto round = open_round(ines, "Fall", {});
  REQUIRE(ines.post("/api/rounds/" + round + "/close").status == 200);
  const auto none = ines.get("/api/rounds/" + round + "/result");
  CHECK(none.status == 409);
  CHECK(none.code() == "no-scores");
  bring(house, "elsewhere", {{"paper-rater", "4"}});
  CHECK(ines.get("/api/rounds/" + round + "/result").code() == "no-scores");
}

TEST_CASE("a result names the fingerprint its round was locked with, whatever else is scored") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto");
  const auto group = open_group(otto);
  auto ann = student(house, group.code, "ann");
  const auto round = open_round(ines, "Fall", {group.id});
  bring(house, round, {{"ann", "3"}, {"ben", "2"}});
  REQUIRE(ines.post("/api/rounds/" + round + "/close").status == 200);
  const auto locked = ines.post("/api/rounds/" + round + "/lock").body();
  const auto named = [&](Browser& who) {
    return who.get("/api/rounds/" + round + "/result").body().at("provenance").at("scores_fingerprint");
  };
  CHECK(named(ines) == locked.at("fingerprint"));
  // Of the round as a whole, also to whom only some of it is shown.
  CHECK(named(otto) == locked.at("fingerprint"));
  bring(house, "elsewhere", {{"ann", "4"}});
  CHECK(named(ines) == locked.at("fingerprint"));
}

TEST_CASE("a result of other scores than its round was locked with says so, on the page and in every file") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  const auto round = open_round(ines, "Fall", {group.id});
  bring(house, round, {{"ann", "3"}, {"ben", "2"}, {"cyd", "2"}});
  REQUIRE(ines.post("/api/rounds/" + round + "/close").status == 200);
  const std::string locked = ines.post("/api/rounds/" + round + "/lock").body().at("fingerprint");
  const std::string says =
      "These are not the scores with which the round was locked on 2026-09-01 (fingerprint " +
      locked.substr(0, 16) + ").";
  const auto told = [&](const std::string& where) {
    const auto answer = ines.get("/api/rounds/" + round + where);
    REQUIRE(answer.status == 200);
    return answer.text.find(says) != std::string::npos;
  };
  CHECK_FALSE(told("/result"));
  CHECK_FALSE(told("/report"));
  REQUIRE(ann.erase("/api/my-data", {{"passphrase", passphrase}}).status == 200);
  CHECK(told("/result"));
  CHECK(told("/report"));
  CHECK(told("/report?format=json"));
  CHECK(told("/report?kind=agenda"));
}

TEST_CASE("a result that was kept is given again as long as nothing it rests on has changed") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto round = open_round(ines, "Fall", {});
  bring(house, round, {{"ann", "3"}, {"ben", "2"}});
  REQUIRE(ines.post("/api/rounds/" + round + "/close").status == 200);
  const auto raters = [&] { return ines.get("/api/rounds/" + round + "/result").body().at("raters").size(); };
  const auto first = ines.get("/api/rounds/" + round + "/result").text;
  CHECK(ines.get("/api/rounds/" + round + "/result").text == first);
  CHECK(raters() == 2);
  bring(house, round, {{"cyd", "4"}});
  CHECK(raters() == 3);
  // Each look at names is written down.
  std::size_t looks = 0;
  for (const auto& entry : ines.get("/api/audit").body())
    looks += entry.at("deed") == "saw-result" && entry.at("actor") == "ines" &&
             entry.at("about") == "round " + round;
  CHECK(looks == 4);
}

TEST_CASE("a locked round keeps the rulings that it was locked with, an unlocked one does not") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto settled = [&](const std::string& title, bool lock) {
    const auto round = open_round(ines, title, {});
    bring(house, round, {{"ann", "3"}, {"ben", "2"}});
    house.wait(std::chrono::minutes(1));
    REQUIRE(ines.post("/api/rounds/" + round + "/close").status == 200);
    if (lock) REQUIRE(ines.post("/api/rounds/" + round + "/lock").status == 200);
    return "/api/rounds/" + round + "/result";
  };
  const auto locked = settled("Fall", true), open = settled("Spring", false);
  const auto locked_before = ines.get(locked).text, open_before = ines.get(open).text;
  house.wait(std::chrono::minutes(1));
  const std::string rulings = "/api/rulings/pediatric-balance",
                    text =
                        "format: evenhand/rulings-1\nid: rulings-pediatric-balance\ninstrument: "
                        "pediatric-balance\nrulings:\n"
                        "  - id: our-2-resting\n    item: \"2\"\n    date: 2026-09-01\n    who: The lead\n"
                        "    why: We guard every child with a hand on the belt.\n"
                        "    situation: a hand rests on the child or on the belt and bears nothing\n"
                        "    when: {touch: resting, holds_on: none}\n    as_if: {touch: none}\n";
  const auto preview = ines.post(rulings + "/preview", {{"text", text}}).body();
  REQUIRE(
      ines.put(rulings, {{"text", text}, {"why", "Meeting"}, {"confirm", preview.at("confirm")}}).status ==
      200);
  CHECK(ines.get(locked).text == locked_before);
  const auto now = ines.get(open);
  CHECK(now.text != open_before);
  CHECK(now.body().at("provenance").at("department_rulings") == true);
  // The round before, though locked, is judged as the one that is looked at.
  CHECK(ines.get(open).body().at("rounds").size() == 2);
  // Locked from now on, it keeps them.
  const std::string id = open.substr(0, open.rfind('/'));
  REQUIRE(ines.post(id + "/lock").status == 200);
  CHECK(ines.get(open).body().at("provenance").at("department_rulings") == true);
}
