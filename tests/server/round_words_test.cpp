// What the authors say in the report of a round: who may write it, which files hold it, and that a lock is no
// end of it.

#include <chrono>
#include <map>

#include <catch2/catch.hpp>

#include "report/calibration_page.hpp"
#include "scores/read_long.hpp"
#include "server/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// A round that Otto opened, with scores of Ann and of one from paper.
struct Written {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  Browser otto = another_instructor(house, "otto"), zoe = another_instructor(house, "zoe");
  OpenGroup group = open_group(otto);
  Browser ann = student(house, group.code, "ann");
  std::string round;

  Written() {
    const auto made = otto.post(
        "/api/rounds", {{"title", "Fall"}, {"set", "pb-round-demonstration"}, {"groups", {group.id}}});
    REQUIRE(made.status == 201);
    round = "/api/rounds/" + made.body().at("id").get<std::string>();
    std::string csv = "rater,round,case,item,score\n";
    for (const auto& entry : shipped_library().sets.at("pb-round-demonstration").entries)
      for (const auto& item : entry.items)
        for (const auto& [rater, level] : {std::pair{"ann", "3"}, {"paper-rater", "2"}})
          csv += std::string(rater) + "," + made.body().at("id").get<std::string>() + "," +
                 entry.case_id.text() + "," + item.text() + "," + level + "\n";
    auto store = house.store();
    REQUIRE(store.import_scores(scores::read_long(csv, "paper.csv")->table, {"paper.csv", "f"}, house.now()));
  }
  Answer write(Browser& who, const Json& words, std::optional<std::size_t> read = std::nullopt) {
    if (!read) read = ines.get(round + "/words").body().at("read").get<std::size_t>();
    return who.put(round + "/words", {{"read", *read}, {"words", words}});
  }
  static std::string said(const Json& words, const std::string& field) {
    for (const auto& one : words.at("fields"))
      if (one.at("field") == field) return one.at("words");
    return "no such field";
  }
};

}  // namespace

TEST_CASE("each point of the guideline that no program can answer is a field, empty until somebody writes") {
  Written site;
  const auto fields = site.otto.get(site.round + "/words").body();
  std::size_t expected = 0;
  for (const auto& point : report::grras_points()) expected += !point.field.empty();
  REQUIRE(fields.at("fields").size() == expected);
  CHECK(expected == 11);
  for (const auto& one : fields.at("fields")) CHECK(one.at("words") == "");
  CHECK(fields.at("may_write") == true);
}

TEST_CASE("what was written stands in the result and in every file of the round, and the empty points show") {
  Written site;
  // Also while the round is open.
  REQUIRE(site.write(site.otto, {{"population", "Children of the <day> clinic"}}).status == 200);
  REQUIRE(site.otto.post(site.round + "/close").status == 200);
  const auto point = [&](Browser& who, int number) -> Json {
    const auto result = who.get(site.round + "/result").body();
    for (const auto& one : result.at("grras"))
      if (one.at("point") == number) return one;
    return nullptr;
  };
  CHECK(point(site.ines, 3).at("said") == "Children of the <day> clinic");
  CHECK(point(site.otto, 3).at("said") == "Children of the <day> clinic");
  CHECK(point(site.ines, 7).at("said").is_null());
  const auto html = site.ines.get(site.round + "/report").text;
  CHECK(html.find("Children of the &lt;day&gt; clinic") != std::string::npos);
  const auto json = site.ines.get(site.round + "/report?format=json");
  CHECK(json.text.find("Children of the <day> clinic") != std::string::npos);
  CHECK(site.ines.get(site.round + "/report?format=xlsx").status == 200);
  // What was kept of the result is not given again when the words have changed.
  REQUIRE(site.write(site.ines, {{"population", "Other children"}, {"sampling", "By lot"}}).status == 200);
  CHECK(point(site.ines, 3).at("said") == "Other children");
  CHECK(point(site.ines, 7).at("said") == "By lot");
  REQUIRE(site.write(site.ines, {{"sampling", " \r\n "}}).status == 200);
  CHECK(point(site.ines, 7).at("said").is_null());
}

TEST_CASE(
    "a locked round takes words still: every version stays, with who wrote it, and its result is the same") {
  Written site;
  REQUIRE(site.write(site.otto, {{"ethics", "The board agreed"}}).status == 200);
  REQUIRE(site.otto.post(site.round + "/close").status == 200);
  REQUIRE(site.otto.post(site.round + "/lock").status == 200);
  const auto before = site.ines.get(site.round + "/result").body();
  const auto now = site.write(site.ines, {{"ethics", "The board agreed in May"}});
  REQUIRE(now.status == 200);
  CHECK(now.body().at("locked").is_string());
  const Json fields = now.body().at("fields");
  for (const auto& one : fields) {
    if (one.at("field") != "ethics") continue;
    const Json versions = one.at("versions");
    REQUIRE(versions.size() == 2);
    CHECK(versions[0].at("by") == "otto");
    CHECK(versions[0].at("words") == "The board agreed");
    CHECK(versions[1].at("by") == "ines");
  }
  auto after = site.ines.get(site.round + "/result").body();
  CHECK(after != before);
  after["grras"] = before.at("grras");
  CHECK(after == before);
  CHECK(site.ines.get(site.round).body().at("as_locked") == true);
}

TEST_CASE("the report says of its authors' words when each was written against the scores, and by whom") {
  Written site;
  REQUIRE(site.write(site.otto, {{"population", "Children of the day clinic"},
                                 {"ethics", "The board agreed"},
                                 {"process", "In the gym"}})
              .status == 200);
  site.house.wait(std::chrono::hours(24));
  auto again = [&] {
    REQUIRE(site.otto.post("/api/sign-in", {{"rater", "otto"}, {"passphrase", passphrase}}).status == 200);
    REQUIRE(site.ines.post("/api/sign-in", {{"rater", "ines"}, {"passphrase", passphrase}}).status == 200);
  };
  again();
  REQUIRE(site.otto.post(site.round + "/close").status == 200);
  site.house.wait(std::chrono::hours(24));
  again();
  REQUIRE(site.write(site.ines, {{"training", "Two years"}}).status == 200);
  site.house.wait(std::chrono::hours(24));
  again();
  REQUIRE(site.otto.post(site.round + "/lock").status == 200);
  site.house.wait(std::chrono::hours(24));
  again();
  REQUIRE(site.write(site.otto, {{"ethics", "The board agreed in May"}, {"process", ""}}).status == 200);

  std::map<std::string, Json> points;
  const Json result = site.otto.get(site.round + "/result").body();
  for (const auto& one : result.at("grras"))
    if (one.contains("field")) points[one.at("field").get<std::string>()] = one;
  const auto written = [&](const char* field) { return points.at(field).at("written"); };
  CHECK(written("population") == Json{{"date", "2026-09-01"},
                                      {"age", "before_close"},
                                      {"boundary", "2026-09-02"},
                                      {"changed", false},
                                      {"by", "otto"}});
  CHECK(written("training").at("age") == "after_close");
  CHECK(written("training").at("by") == "ines");
  CHECK(written("ethics").at("age") == "after_lock");
  CHECK(written("ethics").at("changed") == true);
  CHECK(points.at("process").at("said").is_null());
  CHECK(written("process").at("age") == "after_lock");
  CHECK_FALSE(points.at("raters").contains("written"));

  const auto html = site.otto.get(site.round + "/report").text;
  for (const std::string says : {"Written 2026-09-01 by otto, before the round closed (2026-09-02).",
                                 "Written 2026-09-03 by ines, after the round closed (2026-09-02).",
                                 "Changed 2026-09-05 by otto, after the round was locked (2026-09-04).",
                                 "Emptied 2026-09-05 by otto, after the round was locked (2026-09-04)."}) {
    INFO(says);
    CHECK(html.find(says) != std::string::npos);
  }
}

TEST_CASE(
    "only whoever opened the round or a lead writes: others read what they may see of the round, or "
    "nothing") {
  Written site;
  auto olga = another_instructor(site.house, "olga");
  CHECK(site.zoe.get(site.round + "/words").status == 404);
  CHECK(site.write(site.zoe, {{"ethics", "x"}}).status == 404);
  CHECK(site.ann.get(site.round + "/words").status == 403);
  CHECK(site.write(site.ann, {{"ethics", "x"}}).status == 403);
  // A round for everybody concerns every instructor, who does not settle it.
  REQUIRE(site.otto.post(site.round + "/close").status == 200);
  const auto open = site.ines.post("/api/rounds", {{"title", "All"}, {"set", "pb-round-demonstration"}});
  REQUIRE(open.status == 201);
  const std::string all = "/api/rounds/" + open.body().at("id").get<std::string>() + "/words";
  const auto seen = olga.get(all);
  CHECK(seen.status == 200);
  CHECK(seen.body().at("may_write") == false);
  CHECK(olga.put(all, {{"read", 0}, {"words", {{"ethics", "x"}}}}).code() == "not-yours");
  CHECK(Written::said(site.ines.get(all).body(), "ethics").empty());
}

TEST_CASE(
    "words are refused that no field takes, that are too long or no text, and where others wrote meanwhile",
    "[edge]") {
  Written site;
  CHECK(site.write(site.otto, {{"weather", "fine"}}).status == 422);
  CHECK(site.write(site.otto, {{"", "fine"}}).status == 422);
  CHECK(site.write(site.otto, {{"ethics", 3}}).status == 422);
  CHECK(site.write(site.otto, {{"ethics", std::string(4001, 'x')}}).status == 422);
  CHECK(site.write(site.otto, {{"ethics", std::string("a\x01")}}).status == 422);
  CHECK(site.write(site.otto, Json::array()).status == 422);
  CHECK(site.otto.put(site.round + "/words", {{"words", {{"ethics", "x"}}}}).status == 422);
  REQUIRE(site.write(site.otto, {{"ethics", "first\nand second line"}}, 0).status == 200);
  CHECK(site.write(site.ines, {{"ethics", "over it"}}, 0).code() == "other-words");
  CHECK(Written::said(site.ines.get(site.round + "/words").body(), "ethics") == "first\nand second line");
}

TEST_CASE("that words were written is in the log once, and not when nothing changed") {
  Written site;
  REQUIRE(site.write(site.otto, {{"ethics", "x"}, {"sampling", "y"}}).status == 200);
  REQUIRE(site.write(site.otto, {{"ethics", "x"}}).status == 200);
  std::size_t noted = 0;
  const auto entries = site.ines.get("/api/audit").body();
  for (const auto& one : entries) noted += one.at("deed") == "wrote-words" && one.at("actor") == "otto";
  CHECK(noted == 1);
}
