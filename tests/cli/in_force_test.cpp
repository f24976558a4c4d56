// What a department put in force on its site holds for every command that reads its store.

#include <chrono>

#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "base/fingerprint.hpp"
#include "cli/support.hpp"
#include "scores/read_long.hpp"
#include "server/support.hpp"
#include "store/department_texts.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Contains;

namespace {

const std::string own_rulings =
    "format: evenhand/rulings-1\nid: rulings-pediatric-balance\ninstrument: pediatric-balance\nrulings:\n"
    "  - id: our-2-resting\n    item: \"2\"\n    date: 2026-09-01\n    who: The lead\n"
    "    why: We guard every child with a hand on the belt.\n"
    "    situation: a hand rests on the child or on the belt and bears nothing\n"
    "    when: {touch: resting, holds_on: none}\n    as_if: {touch: none}\n";

/// A site whose lead rules, and whose rounds are scored on paper.
struct Department {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  std::string store = house.store_path();

  /// What the ruling changes: the site's own answer.
  Json rule(const std::string& text = own_rulings) {
    house.wait(std::chrono::minutes(1));
    const std::string at = "/api/rulings/pediatric-balance";
    const auto preview = ines.post(at + "/preview", {{"text", text}}).body();
    const auto put = ines.put(at, {{"text", text}, {"why", "Meeting"}, {"confirm", preview.at("confirm")}});
    REQUIRE(put.status == 200);
    house.wait(std::chrono::minutes(1));
    return preview.at("changes");
  }

  /// A round with the scores of three, closed.
  std::string round(const std::string& title) {
    const auto made = ines.post(
        "/api/rounds", {{"title", title}, {"set", "pb-round-demonstration"}, {"groups", Json::array()}});
    REQUIRE(made.status == 201);
    const std::string id = made.body().at("id");
    std::string csv = "rater,round,case,item,score\n";
    for (const auto& entry : shipped_library().sets.at("pb-round-demonstration").entries)
      for (const auto& item : entry.items)
        for (const auto& [rater, level] : {std::pair{"ann", "3"}, {"ben", "2"}, {"cyd", "4"}})
          csv += std::string(rater) + "," + id + "," + entry.case_id.text() + "," + item.text() + "," +
                 level + "\n";
    bring(csv, title);
    house.wait(std::chrono::minutes(1));
    REQUIRE(ines.post("/api/rounds/" + id + "/close").status == 200);
    house.wait(std::chrono::minutes(1));
    return id;
  }

  void bring(const std::string& csv, const std::string& name) {
    const auto read = scores::read_long(csv, name);
    REQUIRE(read);
    REQUIRE(house.store().import_scores(read->table, {name, base::fingerprint(csv)}, house.now()));
  }

  Json on_site(const std::string& round) { return ines.get("/api/rounds/" + round + "/result").body(); }
  Json at_terminal(const std::string& round) {
    const auto ran = run({"calibration", "--store", store, "--round", round, "--format", "json"});
    INFO(ran.err);
    REQUIRE(ran.exit == 0);
    return Json::parse(ran.out);
  }
};

/// What a report names of `own_rulings`.
Json rulings_laid_over() {
  return Json::array({{{"kind", "rulings"},
                       {"id", "rulings-pediatric-balance"},
                       {"fingerprint", base::fingerprint(own_rulings)}}});
}

/// All but where and when it was made.
Json numbers(Json report) {
  for (const char* name : {"command", "scores"}) report.at("provenance").erase(name);
  report.erase("date");
  return report;
}

}  // namespace

TEST_CASE("a ruling in force in the store changes the key that a command shows, and is named") {
  Department department;
  const auto key = [&](const Json& of, std::vector<std::string> more) {
    std::vector<std::string> words{"key", of.at("case"), "--item", of.at("item")};
    words.insert(words.end(), more.begin(), more.end());
    return run(words);
  };
  const auto changes = department.rule();
  REQUIRE_FALSE(changes.empty());
  const auto& change = changes.front();
  const std::string before = change.at("before"), after = change.at("after");
  CHECK_THAT(key(change, {}).out, Contains(": " + before + "\n"));
  const auto ruled = key(change, {"--store", department.store});
  CHECK_THAT(ruled.out, Contains(": " + after + "\n") && Contains("our-2-resting"));
  CHECK_THAT(ruled.err, Contains("rulings rulings-pediatric-balance, 2026-09-01, fingerprint " +
                                 base::fingerprint(own_rulings).substr(0, 12)));
  CHECK(key(change, {"--store", department.store, "--quiet"}).err.empty());
  CHECK_THAT(run({"gray", "pediatric-balance", "--item", "2", "--store", department.store}).out,
             Contains("our-2-resting"));

  SECTION("a file given at the terminal takes the place of the text of its name") {
    const TemporaryFolder other;
    other.file("rulings-pediatric-balance.yaml",
               "format: evenhand/rulings-1\nid: rulings-pediatric-balance\ninstrument: "
               "pediatric-balance\nrulings: []\n");
    const auto given = key(change, {"--store", department.store, "--library", other.path("")});
    INFO(given.err);
    CHECK_THAT(given.out, Contains(": " + before + "\n"));
    CHECK_THAT(given.err, Contains("not used, for a file given here has the name: rulings"));
  }
}

TEST_CASE("agreement holds scores of a store against the keys in force there") {
  Department department;
  std::string csv_of_all = "rater,case,item,score\n";
  for (const auto& [id, one] : shipped_library().cases)
    if (one.instrument == InstrumentId("pediatric-balance"))
      for (const auto& rater : {"ann", "ben"}) csv_of_all += fmt::format("{},{},2,3\n", rater, id);
  department.bring(csv_of_all, "all.csv");
  const std::vector<std::string> words{"agreement",    "--store",           department.store,
                                       "--instrument", "pediatric-balance", "--only",
                                       "exact",        "--format",          "json"};
  const auto before = run(words);
  REQUIRE(before.exit == 0);
  const auto csv = department.house.path("scores.csv");
  REQUIRE(run({"export", "--store", department.store, "--out", csv}).exit == 0);
  department.rule();
  const auto after = run(words);
  CHECK(after.out != before.out);
  CHECK_THAT(after.err, Contains("In force in " + department.store));
  // Beside a file of the same scores the store's keys hold when it is named, and else do not.
  auto from_file = words;
  from_file.insert(from_file.begin() + 1, csv);
  CHECK(run(from_file).out == after.out);
  from_file.erase(from_file.begin() + 2, from_file.begin() + 4);
  CHECK(run(from_file).out == before.out);
}

TEST_CASE("site and terminal report the same numbers of a round, by the keys that hold for it") {
  Department department;
  const auto fall = department.round("Fall");
  REQUIRE(department.ines.post("/api/rounds/" + fall + "/lock").status == 200);
  const auto fall_before = numbers(department.at_terminal(fall));
  const auto spring = department.round("Spring");
  // Practice is in the store too, and in no round.
  department.bring("rater,case,item,score\nann,pb-otter,1,4\nben,pb-otter,1,0\n", "loose.csv");
  const auto spring_before = numbers(department.at_terminal(spring));
  CHECK(spring_before == numbers(department.on_site(spring)));
  department.rule();

  CHECK(numbers(department.at_terminal(fall)) == fall_before);
  CHECK(numbers(department.at_terminal(fall)) == numbers(department.on_site(fall)));
  const auto ruled = numbers(department.at_terminal(spring));
  CHECK(ruled != spring_before);
  CHECK(ruled == numbers(department.on_site(spring)));
  CHECK(ruled.at("rounds").size() == 2);
  CHECK(ruled.at("provenance").at("department_rulings") == true);
  CHECK(ruled.at("provenance").at("laid_over") == rulings_laid_over());
  // Locked before the ruling, it was made without.
  CHECK(fall_before.at("provenance").at("laid_over") == Json::array());
  const auto page = [&](const std::string& round) {
    return department.ines.get("/api/rounds/" + round + "/report").text;
  };
  CHECK_THAT(page(spring), Contains("own rulings: rulings-pediatric-balance"));
  CHECK_THAT(page(spring), Contains(base::fingerprint(own_rulings)));
  CHECK_THAT(page(fall), !Contains("own rulings: "));

  const auto calibration = [&](std::vector<std::string> more) {
    std::vector<std::string> words{"calibration", "--store", department.store};
    words.insert(words.end(), more.begin(), more.end());
    return run(words);
  };
  // The line that makes the report again names the round that was taken.
  const auto last = Json::parse(calibration({"--format", "json"}).out);
  CHECK_THAT(last.at("provenance").at("command").get<std::string>(), Contains("--round " + spring));
  CHECK(calibration({"--round", fall}).err.find("fingerprint") == std::string::npos);
  REQUIRE(department.ines.post("/api/rounds/" + spring + "/lock").status == 200);
  CHECK_THAT(calibration({"--round", spring}).err,
             Contains("when the round " + spring + " was locked (2026-09-01), and used here"));
  CHECK(numbers(department.at_terminal(spring)) == ruled);
}

TEST_CASE("a competency report of a store rests on what the site's rests on") {
  Department department;
  const auto group = open_group(department.ines);
  auto ann = student(department.house, group.code, "ann");
  department.round("Fall");
  department.rule();
  const auto site = department.ines.get("/api/groups/" + group.id + "/raters/ann/report?format=json").body();
  const auto ran = run({"competency", "--store", department.store, "--rater", "ann", "--format", "json"});
  INFO(ran.err);
  REQUIRE(ran.exit == 0);
  const auto report = Json::parse(ran.out);
  for (const char* part : {"decision", "items", "bias_points", "cases"}) {
    INFO(part);
    REQUIRE(site.contains(part));
    CHECK(report.at(part) == site.at(part));
  }
  CHECK(report.at("provenance").at("laid_over") == rulings_laid_over());
  CHECK(site.at("provenance").at("laid_over") == rulings_laid_over());
  const std::string group_report = "/api/groups/" + group.id + "/report";
  const auto of_group = department.ines.get(group_report + "?format=json").body();
  CHECK(of_group.at("provenance").at("laid_over") == rulings_laid_over());
  CHECK_THAT(department.ines.get(group_report).text, Contains(base::fingerprint(own_rulings)));
}

TEST_CASE("practice decides about nobody at the terminal either", "[edge]") {
  const TemporaryFolder folder;
  const auto store = folder.path("p.db");
  run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", store}, "\n\n4\n\n\n\n\n4\n\nq\n");
  const auto ran = run({"competency", "--store", store, "--rater", "ann"});
  CHECK(ran.exit == 1);
  CHECK_THAT(ran.err, Contains("practice decides about nobody") || Contains("there are no scores in it"));
}

TEST_CASE("what is at fault in a store is said and left out, in a file given it is refused", "[edge]") {
  Department department;
  {
    auto store = department.house.store();
    REQUIRE(store::write_text(store, {.kind = store::TextKind::set,
                                      .name = "ours",
                                      .yaml = "format: evenhand/set-1\nid: ours\ntitle: Ours\ninstrument: "
                                              "pediatric-balance\nmode: practice\ncases:\n  - gone\n",
                                      .why = "a case that was taken out since",
                                      .at = department.house.now()}));
  }
  const auto shown = run({"key", "pb-otter", "--item", "1", "--store", department.store});
  CHECK(shown.exit == 0);
  CHECK_THAT(shown.err, Contains("as the site leaves it out") && Contains("department/set/ours.yaml"));
  CHECK(run({"check", "--store", department.store}).exit == 1);
  CHECK(run({"check"}).exit == 0);
  const TemporaryFolder folder;
  folder.file("mine.yaml", "format: evenhand/set-1\nid: other\n");
  CHECK(run({"gray", "pediatric-balance", "--library", folder.path(""), "--store", department.store}).exit ==
        1);
  CHECK_THAT(run({"key", "pb-otter", "--store", folder.path("none.db")}).err, Contains("no such file"));
}
