// Reports as files: the numbers of the page, the name, who gets them, and what is said where a PDF cannot be
// made.

#include <algorithm>
#include <cstdlib>

#include <catch2/catch.hpp>

#include "calibration/library_rounds.hpp"
#include "report/calibration.hpp"
#include "report/child_process.hpp"
#include "report/evidence.hpp"
#include "report/tables.hpp"
#include "scores/read_long.hpp"
#include "server/api/report_files.hpp"
#include "server/boards.hpp"
#include "server/checked_evidence.hpp"
#include "server/ward.hpp"
#include "store/readings.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

struct ClosedRound {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  Browser otto = another_instructor(house, "otto"), ola = another_instructor(house, "ola");
  OpenGroup ottos = open_group(otto), olas = open_group(ola);
  Browser ann = student(house, ottos.code, "ann");
  Browser ben = student(house, olas.code, "ben");
  std::string id;
  std::string csv = "rater,round,case,item,score\n";

  ClosedRound() {
    const auto made = ines.post(
        "/api/rounds",
        {{"title", "Fall 2026"}, {"set", "pb-round-demonstration"}, {"groups", {ottos.id, olas.id}}});
    REQUIRE(made.status == 201);
    id = made.body().at("id");
    for (const auto& entry : shipped_library().sets.at("pb-round-demonstration").entries)
      for (const auto& item : entry.items)
        for (const auto& [rater, level] : {std::pair{"ann", "3"}, {"ben", "2"}, {"cyd-on-paper", "4"}})
          csv += std::string(rater) + "," + id + "," + entry.case_id.text() + "," + item.text() + "," +
                 level + "\n";
    auto store = house.store();
    REQUIRE(store.import_scores(scores::read_long(csv, "paper.csv")->table, {"paper.csv", "f"}, house.now()));
    REQUIRE(ines.post("/api/rounds/" + id + "/close").status == 200);
  }
  std::string at(const std::string& rest) const { return "/api/rounds/" + id + "/report" + rest; }
};

/// PATH as it leads nowhere, until the end.
class NoPrograms {
 public:
  NoPrograms() { setenv("PATH", "/nowhere", 1); }
  ~NoPrograms() { setenv("PATH", was_.c_str(), 1); }

 private:
  std::string was_ = getenv("PATH");
};

std::size_t taken(Browser& lead, const std::string& what) {
  std::size_t n = 0;
  for (const auto& entry : lead.get("/api/audit").body())
    n += entry.at("deed") == "took-report" && (what.empty() || entry.at("about") == what);
  return n;
}

}  // namespace

TEST_CASE("the files of a round hold the numbers that the command makes of the same scores") {
  ClosedRound round;
  const auto file = round.ines.get(round.at("?format=json"));
  REQUIRE(file.status == 200);
  CHECK(file.header("Content-Disposition").find("attachment; filename=\"calibration-fall-2026-") == 0);
  const auto page = round.ines.get("/api/rounds/" + round.id + "/result");
  CHECK(file.text == page.text);

  // As the command goes about it: the scores of a file beside the keys of the library.
  const auto table = scores::read_long(round.csv, "paper.csv")->table;
  scores::ResolveOptions how;
  how.rounds = {RoundId(round.id)};
  const auto rounds = calibration::rounds_in_library(table, shipped_library(), how).value();
  const auto made = calibration::calibrate(rounds.rounds, 0, rounds.facts, {.order = rounds.order}).value();
  const auto command = Json::parse(report::calibration_json(made, {}));
  for (const char* part : {"group", "raters", "items", "agenda", "rounds", "answer"}) {
    INFO(part);
    if (std::string(part) == "items") {
      // The site knows the names of the items.
      for (std::size_t i = 0; i < command.at("items").size(); ++i)
        CHECK(command.at("items")[i].at("exact") == file.body().at("items")[i].at("exact"));
    } else if (command.contains(part)) {
      CHECK(command.at(part) == file.body().at(part));
    }
  }
  CHECK(command.at("group").at("raters") == 3);
}

TEST_CASE("a round is had as HTML, workbook and agenda too, each a file with a name, and each written down") {
  ClosedRound round;
  const auto html = round.ines.get(round.at(""));
  REQUIRE(html.status == 200);
  CHECK(html.type.find("text/html") == 0);
  CHECK(html.header("Content-Disposition").find(".html\"") != std::string::npos);
  CHECK(html.text.find("GRRAS") != std::string::npos);
  // People read titles: an id says nothing to them.
  CHECK(html.text.find("round Fall 2026") != std::string::npos);
  CHECK(html.text.find(round.id) == std::string::npos);
  const auto xlsx = round.ines.get(round.at("?format=xlsx"));
  CHECK(xlsx.status == 200);
  CHECK(xlsx.text.substr(0, 2) == "PK");
  const auto agenda = round.ines.get(round.at("?kind=agenda&format=html"));
  CHECK(agenda.status == 200);
  CHECK(agenda.text.find(round.id) == std::string::npos);
  CHECK(agenda.header("Content-Disposition").find("filename=\"agenda-fall-2026-") != std::string::npos);
  CHECK(taken(round.ines, "round " + round.id) == 3);
  CHECK(round.ines.get(round.at("?kind=agenda&format=xlsx")).status == 422);
  CHECK(round.ines.get(round.at("?kind=other")).status == 422);
  CHECK(round.ines.get(round.at("?format=doc")).status == 422);
  CHECK(round.ines.get(round.at("?format=pdf&paper=a3")).status == 422);
  CHECK(taken(round.ines, "round " + round.id) == 3);
}

TEST_CASE("where too few scored in two rounds to test anybody, the page says so with no id of a round") {
  ClosedRound round;
  const auto made = round.ines.post("/api/rounds", {{"title", "Spring 2027"},
                                                    {"set", "pb-round-demonstration"},
                                                    {"groups", {round.ottos.id, round.olas.id}}});
  REQUIRE(made.status == 201);
  const std::string second = made.body().at("id");
  std::string csv = round.csv;
  for (auto at = csv.find(round.id); at != std::string::npos; at = csv.find(round.id, at))
    csv.replace(at, round.id.size(), second);
  {
    auto store = round.house.store();
    REQUIRE(store.import_scores(scores::read_long(csv, "spring.csv")->table, {"spring.csv", "g"},
                                round.house.now()));
  }
  REQUIRE(round.ines.post("/api/rounds/" + second + "/close").status == 200);
  const auto html = round.ines.get("/api/rounds/" + second + "/report");
  REQUIRE(html.status == 200);
  CHECK(html.text.find("Drift since Fall 2026 was tested for nobody: 6 cases and 3 raters in common") !=
        std::string::npos);
  CHECK(html.text.find("that takes 4 raters or more who scored in both") != std::string::npos);
  CHECK(html.text.find(round.id) == std::string::npos);
  CHECK(html.text.find(second) == std::string::npos);
}

TEST_CASE("an instructor's file of a round holds the own raters and no others: a student gets none") {
  ClosedRound round;
  for (const std::string form : {"json", "html"}) {
    const auto own = round.otto.get(round.at("?format=" + form));
    REQUIRE(own.status == 200);
    CHECK(own.text.find("cyd-on-paper") == std::string::npos);
    CHECK(own.text.find("\"ben\"") == std::string::npos);
    CHECK(own.text.find(">ben<") == std::string::npos);
  }
  CHECK(round.otto.get(round.at("?format=json")).body().at("group").at("raters") == 1);
  CHECK(round.ann.get(round.at("?format=json")).status == 403);
  auto zoe = another_instructor(round.house, "zoe");
  CHECK(zoe.get(round.at("?format=json")).status == 404);
}

TEST_CASE("a rater's report comes in every form, from the same numbers as the page") {
  Ward ward;
  const auto at = ward.at("/raters/ben/report");
  const auto json = ward.ines.get(at + "?format=json");
  REQUIRE(json.status == 200);
  CHECK(json.header("Content-Disposition").find("attachment; filename=\"competency-ben-") == 0);
  const auto checks = ward.ines.get(ward.at("/raters/ben")).body().at("checks");
  CHECK(json.body().at("decision").at("verdict") == checks.at("verdict"));
  CHECK(json.body().at("decision").at("so_far").at("share").get<double>() > 0.0);
  CHECK(json.body().at("provenance").at("scores_fingerprint") ==
        checks.at("rests_on").at("data_fingerprint"));
  CHECK(json.body().at("over_time").at("sittings").size() == 1);
  CHECK(json.body().at("over_time").at("control_chart").at("says").get<std::string>().find("Left out") == 0);
  const auto html = ward.ines.get(at);
  CHECK(html.status == 200);
  CHECK(html.text.find("Competency report: rater ben") != std::string::npos);
  CHECK(ward.ines.get(at + "?format=xlsx").text.substr(0, 2) == "PK");
  CHECK(taken(ward.ines, "") == 3);
  CHECK(ward.ann.get(at).status == 403);
  CHECK(ward.ben.get(at).status == 403);
  auto otto = another_instructor(ward.house, "otto");
  CHECK(otto.get(at).status == 404);
}

TEST_CASE("a group's skills check is had as a file: all of its raters, and nobody else") {
  Ward ward;
  ward.import("cyd-elsewhere", 1, "other.csv");
  const auto json = ward.ines.get(ward.at("/report?format=json"));
  REQUIRE(json.status == 200);
  REQUIRE(json.body().at("raters").size() == 2);
  CHECK(json.body().at("raters")[0].at("rater") == "ann");
  CHECK(json.text.find("cyd-elsewhere") == std::string::npos);
  CHECK(json.body().at("decisions").at("ready") == 1);
  // The very numbers of the rater's own report.
  const auto own = ward.ines.get(ward.at("/raters/ben/report?format=json")).body();
  for (const char* part : {"decision", "agreement", "bias_points", "items", "levels_off"})
    CHECK(json.body().at("raters")[1].at(part) == own.at(part));
  const auto html = ward.ines.get(ward.at("/report"));
  CHECK(html.text.find("Where raters and keys differ") != std::string::npos);
  CHECK(html.text.find("<h1>Competency of the group Tuesday</h1>") != std::string::npos);
  CHECK(ward.ines.get(ward.at("/report?format=xlsx")).text.substr(0, 2) == "PK");
  CHECK(ward.ann.get(ward.at("/report")).status == 403);
  auto otto = another_instructor(ward.house, "otto");
  CHECK(otto.get(ward.at("/report?format=json")).status == 404);
}

TEST_CASE("a group's report names, by rater, the cases that the rater knew before") {
  Ward ward;
  auto cyd = student(ward.house, ward.group.code, "cyd");
  auto dee = student(ward.house, ward.group.code, "dee");
  auto store = ward.house.store();
  for (const std::string rater : {"cyd", "dee"})
    for (const std::string id : {"pb-lark", "pb-otter"})
      if (rater == "cyd" || id == "pb-lark")
        REQUIRE(store::add_reading(store, {.scored_case = CaseId(id),
                                           .case_fingerprint = "c4",
                                           .reader = RaterId(rater),
                                           .at = ward.house.now(),
                                           .items = {{ItemId("1"), "3"}}}));
  auto rows = scores_of("cyd", 1);
  for (auto& row : scores_of("dee", 0))
    if (row.scored_case == CaseId("pb-lark")) rows.push_back(row);
  for (auto& row : rows) row.at = ward.house.now() + std::chrono::minutes(9);
  ward.house.wait(std::chrono::hours(1));
  REQUIRE(store.import_scores(scores::table_of(rows).value(), {.name = "later.csv", .file_fingerprint = "g"},
                              ward.house.now()));
  const auto json = ward.ines.get(ward.at("/report?format=json")).body();
  REQUIRE(json.at("raters").size() == 3);
  CHECK(json.at("raters")[2].at("rater") == "cyd");
  CHECK(json.at("raters")[2].at("met_before") == Json{"pb-lark", "pb-otter"});
  CHECK_FALSE(json.at("raters")[0].contains("met_before"));
  CHECK(json.at("nothing_but_met_before") == Json::array({{{"rater", "dee"}, {"met_before", {"pb-lark"}}}}));
  const auto html = ward.ines.get(ward.at("/report")).text;
  CHECK(html.find("Rater cyd: without 2 cases that the rater knew before, from practice or from making the "
                  "key (pb-lark and pb-otter).") != std::string::npos);
  CHECK(html.find("Rater dee: without 1 case that the rater knew before, from practice or from making the "
                  "key (pb-lark); there is nothing else to decide on.") != std::string::npos);
  // The rater's own report names them too, and so does the page.
  const auto own = ward.ines.get(ward.at("/raters/cyd/report?format=json")).body();
  CHECK(own.at("met_before") == Json{"pb-lark", "pb-otter"});
  CHECK(own.at("notices")[0].get<std::string>().find("(pb-lark and pb-otter): they do not count.") !=
        std::string::npos);
  CHECK(ward.ines.get(ward.at("/raters/cyd")).body().at("checks").at("notices") == own.at("notices"));
  // And the workbook, from the same evidence.
  const auto library = confirmed_library();
  const auto evidence =
      server::checked_evidence(store, library, {RaterId("ann"), RaterId("cyd"), RaterId("dee")},
                               server::standard_of(library).value(), ward.house.now())
          .value();
  REQUIRE(evidence);
  const auto all = competency::summaries_of(*evidence).value();
  const auto book = report::competency_tables(all, evidence->key, evidence->standard.standard,
                                              report::provenance_of(*evidence, {}));
  const auto sheet = std::ranges::find(book.sheets, "Met before", &report::Sheet::name);
  REQUIRE(sheet != book.sheets.end());
  REQUIRE(sheet->rows.size() == 3);
  CHECK(std::get<std::string>(sheet->rows[2][0]) == "dee");
  CHECK(std::get<std::string>(sheet->rows[2][1]) == "pb-lark");
  // Where nobody knew any, nothing is said.
  CHECK(ward.ines.get(ward.at("/raters/ann/report")).text.find("knew before") == std::string::npos);
}

TEST_CASE("a group without a check has no report, and says so", "[edge]") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto group = open_group(ines);
  CHECK(ines.get("/api/groups/" + group.id + "/report").code() == "no-checks");
}

TEST_CASE("where no PDF can be made it is said what to take instead", "[edge]") {
  Ward ward;
  const auto at = ward.at("/raters/ann/report?format=pdf");
  {
    const NoPrograms none;
    const auto refused = ward.ines.get(at);
    CHECK(refused.status == 503);
    CHECK(refused.code() == "no-pdf");
    CHECK(refused.text.find("HTML") != std::string::npos);
  }
  {
    const auto place = server::PdfPlace::take();
    REQUIRE(place);
    CHECK_FALSE(server::PdfPlace::take());
    const auto busy = ward.ines.get(at);
    CHECK(busy.status == 503);
    CHECK(busy.code() == "busy");
    CHECK(busy.header("Retry-After") == "5");
  }
  CHECK(server::PdfPlace::take());
  CHECK(taken(ward.ines, "") == 0);
  if (report::find_program("weasyprint").empty()) return;  // the refusal is tried above
  const auto pdf = ward.ines.get(at + "&paper=a4");
  REQUIRE(pdf.status == 200);
  CHECK(pdf.type == "application/pdf");
  CHECK(pdf.text.substr(0, 5) == "%PDF-");
  CHECK(pdf.header("Content-Disposition").find("competency-ann-") != std::string::npos);
  CHECK(taken(ward.ines, "") == 1);
}

TEST_CASE("a file's name is plain whatever the title is", "[property]") {
  using server::file_name;
  CHECK(file_name("calibration", "Fall 2026", "2026-11-30") == "calibration-fall-2026-2026-11-30");
  CHECK(file_name("group", "\"; rm -rf / \r\nX: y", "2026-11-30") == "group-rm-rf-x-y-2026-11-30");
  CHECK(file_name("group", "\xc3\x84rzte", "2026-11-30") == "group-rzte-2026-11-30");
  CHECK(file_name("group", "...", "2026-11-30") == "group-2026-11-30");
}
