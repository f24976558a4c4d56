// Board, raters, case-items, sign-offs, log and retention, over the whole site without a socket.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <set>

#include <SQLiteCpp/SQLiteCpp.h>
#include <catch2/catch.hpp>

#include "base/fingerprint.hpp"
#include "competency/library_cases.hpp"
#include "server/support.hpp"
#include "store/audit.hpp"
#include "store/restore.hpp"
#include "store/sign_offs.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

namespace {

/// The shipped cases, as if second readers had confirmed them: so that something is decided.
cases::Library confirmed_library() {
  cases::Library library = shipped_library();
  for (auto& [id, one] : library.cases) one.reviewed_by = 2;
  return library;
}

/// Scores of every case: as the key, but for item 4, where `off` is added as far as that goes.
std::vector<scores::Score> scores_of(const std::string& rater, int off) {
  const auto key = competency::answer_key_of(shipped_library(), InstrumentId("pediatric-balance")).value();
  std::vector<scores::Score> rows;
  for (const auto& [id, one] : key.cases)
    for (std::size_t item = 0; item < key.items.size(); ++item) {
      if (!one.keys[item] || !one.keys[item]->category) continue;
      const auto& categories = key.items[item].categories;
      int place = static_cast<int>(*one.keys[item]->category);
      if (key.items[item].id == ItemId("4"))
        place = std::clamp(place + off, 0, static_cast<int>(categories.size()) - 1);
      scores::Score score;
      score.rater = RaterId(rater);
      score.scored_case = id;
      score.item = key.items[item].id;
      score.value = categories[static_cast<std::size_t>(place)];
      rows.push_back(score);
    }
  return rows;
}

/// A group of Ines with Ann, who scores as the key, and Ben, who scores item 4 too high.
struct Ward {
  House house;
  Browser ines = instructor(house);
  OpenGroup group = open_group(ines);
  Browser ann = student(house, group.code, "ann");
  Browser ben = student(house, group.code, "ben");

  explicit Ward(cases::Library library = confirmed_library()) : house({}, std::move(library)) {
    import("ann", 0);
    import("ben", 2);
  }
  void import(const std::string& rater, int off, const std::string& name = "checks.csv") {
    auto store = house.store();
    const auto rows = scores_of(rater, off);
    REQUIRE(store.import_scores(scores::table_of(rows).value(), {.name = name, .file_fingerprint = "f"},
                                house.now()));
  }
  std::string at(const std::string& rest = "") const { return "/api/groups/" + group.id + rest; }
  Json board() {
    const auto answer = ines.get(at("/board"));
    REQUIRE(answer.status == 200);
    return answer.body();
  }
  Json sign(const std::string& rater, const Json& body, unsigned status = 201) {
    const auto answer = ines.post(at("/raters/" + rater + "/sign-offs"), body);
    INFO(answer.text);
    REQUIRE(answer.status == status);
    return answer.body();
  }
};

const Json ready_until{{"name", "Ines Faber, PT"}, {"valid_until", "2027-08-31"}};

}  // namespace

TEST_CASE("the board shows each rater's signed disagreement item by item, and where the standard puts them") {
  Ward ward;
  const auto board = ward.board();
  CHECK(board.at("pending") == 0);
  REQUIRE(board.at("items").size() == 14);
  REQUIRE(board.at("raters").size() == 2);
  const auto& ann = board.at("raters")[0];
  CHECK(ann.at("rater") == "ann");
  CHECK(ann.at("status") == "ready");
  CHECK(ann.at("words") == "Ready");
  CHECK_FALSE(ann.at("provisional"));
  CHECK(ann.at("share") == 1.0);
  CHECK(ann.at("lower") >= 0.80);
  CHECK(ann.at("level") == 0.97);
  for (const auto& off : ann.at("off")) CHECK(off == 0.0);
  const auto& ben = board.at("raters")[1];
  CHECK(ben.at("off")[3] > 0.5);
  CHECK(ben.at("off")[4] == 0.0);
  CHECK(ben.at("bias").at("points") > 0.0);
  CHECK(ben.at("bias").at("lower") < ben.at("bias").at("points"));
  CHECK(ben.at("status") != "ready");  // item 4 stands out
}

TEST_CASE("the figures of the board are those of the report") {
  Ward ward;
  const auto ben = ward.board().at("raters")[1];
  const auto page = ward.ines.get(ward.at("/raters/ben")).body();
  const auto& checks = page.at("checks");
  CHECK(checks.at("verdict") == ben.at("words"));
  CHECK(checks.at("reason") == ben.at("reason"));
  CHECK(checks.at("share") == ben.at("share"));
  CHECK(checks.at("lower") == ben.at("lower"));
  for (const auto& item : checks.at("items"))
    if (item.at("item") == "4") {
      CHECK(std::abs(item.at("off").get<double>() - ben.at("off")[3].get<double>()) < 1e-12);
      CHECK(item.at("stands_out") == true);
    }
  REQUIRE_FALSE(checks.at("worst").empty());
  CHECK(checks.at("worst")[0].at("item") == "4");
  CHECK(checks.at("worst")[0].at("others") == 1);
  CHECK(checks.at("worst")[0].at("others_missed") == 0);
}

TEST_CASE("practice decides about nobody: a rater who only practiced has no status") {
  Ward ward;
  auto cid = student(ward.house, ward.group.code, "cid");
  const std::string id = cid.post("/api/sittings", {{"set", "pb-first-steps"}}).body().at("id");
  const Json sitting = cid.get("/api/sittings/" + id).body();
  for (const auto& step : sitting.at("steps"))
    REQUIRE(cid.put("/api/sittings/" + id + "/answers/" + step.at("case").get<std::string>() + "/" +
                        step.at("item").get<std::string>() + "/1",
                    {{"trial", nullptr},
                     {"status", "observed"},
                     {"value", "2"},
                     {"observations", Json::object()},
                     {"stopwatch", Json::array()},
                     {"sureness", nullptr}})
                .status == 200);
  REQUIRE(cid.post("/api/sittings/" + id + "/finish").status == 200);
  const auto row = ward.board().at("raters")[2];
  CHECK(row.at("status") == "none");
  CHECK(row.at("finished") == 1);
  const auto page = ward.ines.get(ward.at("/raters/cid")).body();
  CHECK(page.at("checks").is_null());
  CHECK(page.at("sittings").size() == 1);  // the learning curve has it
  CHECK(ward.ines.get(ward.at("/raters/cid/report")).code() == "no-checks");
}

TEST_CASE("the board follows what is imported, undone, and handed in") {
  Ward ward;
  CHECK(ward.board().at("raters")[1].at("off")[3] > 0.5);
  {
    auto store = ward.house.store();
    REQUIRE(store.undo_import(2, ward.house.now()));
  }
  CHECK(ward.board().at("raters")[1].at("status") == "none");
  ward.import("ben", 0, "again.csv");
  CHECK(ward.board().at("raters")[1].at("off")[3] == 0.0);
  auto cid = student(ward.house, ward.group.code, "cid");
  const std::string id = cid.post("/api/sittings", {{"set", "pb-demonstration"}}).body().at("id");
  const Json sitting = cid.get("/api/sittings/" + id).body();
  for (const auto& step : sitting.at("steps"))
    REQUIRE(cid.put("/api/sittings/" + id + "/answers/" + step.at("case").get<std::string>() + "/" +
                        step.at("item").get<std::string>() + "/1",
                    {{"trial", nullptr},
                     {"status", "observed"},
                     {"value", "2"},
                     {"observations", Json::object()},
                     {"stopwatch", Json::array()},
                     {"sureness", nullptr}})
                .status == 200);
  CHECK(ward.board().at("raters")[2].at("status") == "none");
  REQUIRE(cid.post("/api/sittings/" + id + "/finish").status == 200);
  const auto row = ward.board().at("raters")[2];
  CHECK(row.at("status") == "not-yet");  // one level for everything, over enough cases for a look
  CHECK(row.at("cases") >= 16);
}

TEST_CASE("who left a sitting open for days, and who never began, is pointed out") {
  Ward ward;
  REQUIRE(ward.ann.post("/api/sittings", {{"set", "pb-first-steps"}}).status == 201);
  const Json before = ward.board();
  for (const auto& one : before.at("raters")) CHECK(one.at("stuck").is_null());
  ward.house.wait(24h * 8);
  const auto again = ward.ines.post("/api/sign-in", {{"rater", "ines"}, {"passphrase", passphrase}});
  REQUIRE(again.status == 200);
  const auto board = ward.board();
  CHECK(board.at("raters")[0].at("stuck") == "1 sitting open, and not here for 8 days");
  CHECK(board.at("raters")[1].at("stuck") == "joined 8 days ago, and has begun nothing");
}

TEST_CASE("a case-item shows who gave what beside the key, its reason and the criteria that meet there") {
  Ward ward;
  const auto key = competency::answer_key_of(shipped_library(), InstrumentId("pediatric-balance")).value();
  const std::size_t item = shipped_item("4");
  const auto* keyed = key.find(CaseId("pb-lark"), item);
  REQUIRE(keyed != nullptr);
  REQUIRE(keyed->category);
  const auto page = ward.ines.get(ward.at("/cases/pb-lark/4")).body();
  CHECK(page.at("key") == keyed->says);
  CHECK_FALSE(page.at("reason").get<std::string>().empty());
  REQUIRE(page.at("levels").size() == 5);
  CHECK(page.at("given") == 2);
  const auto& at_key = page.at("levels")[*keyed->category];
  CHECK(at_key.at("key") == true);
  CHECK(at_key.at("raters")[0].at("rater") == "ann");
  std::set<std::string> criteria;
  for (const auto& level : page.at("levels")) criteria.insert(level.at("says").get<std::string>());
  CHECK(criteria.size() == 5);
  CHECK(ward.ines.get(ward.at("/cases/no-case/4")).status == 404);
  CHECK(ward.ines.get(ward.at("/cases/pb-lark/99")).status == 404);
}

TEST_CASE("a key that good raters contradict with one voice is suspect") {
  Ward ward;
  CHECK(ward.ines.get(ward.at("/suspects")).body().at("suspects").empty());
  for (const std::string rater : {"dee", "eva", "fay", "gus"}) {
    student(ward.house, ward.group.code, rater);
    auto rows = scores_of(rater, 0);
    for (auto& row : rows)
      if (row.scored_case == CaseId("pb-lark") && row.item == ItemId("3"))
        row.value = row.value == "4" ? "3" : "4";
    auto store = ward.house.store();
    REQUIRE(store.import_scores(scores::table_of(rows).value(),
                                {.name = rater + ".csv", .file_fingerprint = "f"}, ward.house.now()));
  }
  const auto suspects = ward.ines.get(ward.at("/suspects")).body().at("suspects");
  REQUIRE(suspects.size() == 1);
  CHECK(suspects[0].at("case") == "pb-lark");
  CHECK(suspects[0].at("item") == "3");
  CHECK(suspects[0].at("raters") == 4);
  CHECK(suspects[0].at("judges") == "ready");
  CHECK(ward.ines.get(ward.at("/cases/pb-lark/3")).body().at("suspect").at("raters") == 4);
}

TEST_CASE("a sign-off freezes the report byte by byte; a correction is a version of its own, and both stay") {
  Ward ward;
  const auto first = ward.sign("ann", ready_until);
  CHECK(first.at("version") == 1);
  CHECK(first.at("verdict") == "Ready");
  CHECK(first.at("valid_until") == "2027-08-31T23:59:59Z");
  CHECK(first.at("in_force") == true);
  const auto bytes = ward.ines.get(ward.at("/raters/ann/sign-offs/1"));
  CHECK(bytes.header("Content-Disposition") == "attachment; filename=\"rater-ann-version-1.json\"");
  CHECK(base::fingerprint(bytes.text) == first.at("report_fingerprint"));
  const auto report = bytes.body();
  CHECK(report.at("decision").at("verdict") == "Ready");
  CHECK(report.at("provenance").at("scores_fingerprint") == first.at("data_fingerprint"));
  CHECK(report.at("provenance").at("standard_fingerprint") == first.at("standard_fingerprint"));
  // A further version says why.
  CHECK(ward.sign("ann", ready_until, 422).at("error").at("field") == "why");
  {
    auto store = ward.house.store();
    REQUIRE(store.undo_import(1, ward.house.now()));
  }
  ward.import("ann", 2, "corrected.csv");
  const auto second =
      ward.sign("ann", {{"name", "Ines Faber, PT"}, {"why", "The sheet was another rater's."}});
  CHECK(second.at("version") == 2);
  CHECK(second.at("valid_until").is_null());
  CHECK(second.at("data_fingerprint") != first.at("data_fingerprint"));
  CHECK(ward.ines.get(ward.at("/raters/ann/sign-offs/1")).text == bytes.text);
  const auto all = ward.ines.get(ward.at("/raters/ann")).body().at("sign_offs");
  REQUIRE(all.size() == 2);
  CHECK(all[0].at("intact") == true);
  for (const std::string version : {"3", "0", "x", "-1", "99999999999999999999"})
    CHECK(ward.ines.get(ward.at("/raters/ann/sign-offs/" + version)).status == 404);
}

TEST_CASE(
    "a signed version comes through a backup and a restart, and a changed row is found by its fingerprint") {
  Ward ward;
  const auto first = ward.sign("ann", ready_until);
  const auto text = ward.ines.get(ward.at("/raters/ann/sign-offs/1")).text;
  {
    auto store = ward.house.store();
    REQUIRE(store.backup(ward.house.path("backup.db")));
  }
  REQUIRE(store::restore(ward.house.path("backup.db"), ward.house.path("restored.db"),
                         store::Standing::refuse, ward.house.now()));
  {
    auto restored =
        store::Store::open(ward.house.path("restored.db"), store::OpenMode::existing, ward.house.now());
    REQUIRE(restored);
    CHECK(store::sign_off_of(*restored, RaterId("ann"), 1)->report == text);
    CHECK(restored->check().empty());
  }
  // As `sqlite3` would do it.
  SQLite::Database(ward.house.store_path(), SQLite::OPEN_READWRITE)
      .exec(
          "DROP TRIGGER sign_off_stays; UPDATE sign_off SET report = replace(report, '\"Ready\"', '\"Not "
          "yet\"')");
  CHECK(ward.ines.get(ward.at("/raters/ann")).body().at("sign_offs")[0].at("intact") == false);
  auto store = ward.house.store();
  const auto findings = store.check();
  CHECK(std::ranges::any_of(findings, [](const std::string& one) {
    return one.find("sign-off of rater ann, version 1: the report is not the one that was signed") !=
           std::string::npos;
  }));
}

TEST_CASE("a sign-off is valid until a day only where the report says ready and every key is confirmed") {
  Ward ward;
  CHECK(ward.sign("ben", ready_until, 409).at("error").at("code") == "not-ready");
  CHECK(ward.sign("ben", {{"name", "Ines Faber, PT"}}).at("verdict") != "Ready");
  CHECK(ward.sign("ann", {{"name", ""}}, 422).at("error").at("field") == "name");
  CHECK(ward.sign("ann", {{"name", "I"}, {"valid_until", "tomorrow"}}, 422).at("error").at("field") ==
        "valid_until");
  CHECK(ward.sign("ann", {{"name", "I"}, {"valid_until", "2026-08-31"}}, 422).at("error").at("field") ==
        "valid_until");
  Ward shipped{shipped_library()};
  CHECK(shipped.board().at("raters")[0].at("provisional") == true);
  CHECK(shipped.sign("ann", ready_until, 409).at("error").at("code") == "provisional");
  CHECK(shipped.sign("ann", {{"name", "Ines Faber, PT"}}).at("in_force") == false);
}

TEST_CASE("whose sign-off runs out is listed, the first first") {
  Ward ward;
  CHECK(ward.ines.get(ward.at("/due")).body().empty());
  ward.sign("ann", {{"name", "Ines Faber, PT"}, {"valid_until", "2026-10-15"}});
  auto due = ward.ines.get(ward.at("/due")).body();
  REQUIRE(due.size() == 1);
  CHECK(due[0].at("rater") == "ann");
  CHECK(due[0].at("state") == "soon");
  ward.sign("ann",
            {{"name", "Ines Faber, PT"}, {"valid_until", "2027-10-15"}, {"why", "A year, not a month."}});
  due = ward.ines.get(ward.at("/due")).body();
  REQUIRE(due.size() == 1);
  CHECK(due[0].at("version") == 2);
  CHECK(due[0].at("state") == "good");
}

TEST_CASE("remarks are dated, name their author, and the rater finds them in the own data") {
  Ward ward;
  CHECK(ward.ines.post(ward.at("/raters/ann/remarks"), {{"text", ""}}).status == 422);
  const auto made = ward.ines.post(ward.at("/raters/ann/remarks"), {{"text", "Starts the watch late."}});
  CHECK(made.status == 201);
  const auto page = ward.ines.get(ward.at("/raters/ann")).body();
  REQUIRE(page.at("remarks").size() == 1);
  CHECK(page.at("remarks")[0] ==
        Json{{"author", "ines"}, {"at", "2026-09-01T08:00:00Z"}, {"text", "Starts the watch late."}});
  ward.sign("ann", ready_until);
  const auto mine = ward.ann.get("/api/my-data").body();
  CHECK(mine.at("remarks")[0].at("text") == "Starts the watch late.");
  REQUIRE(mine.at("sign_offs").size() == 1);
  CHECK(base::fingerprint(mine.at("sign_offs")[0].at("report").get<std::string>()) ==
        mine.at("sign_offs")[0].at("report_fingerprint"));
  CHECK(mine.at("audit").size() == 3);  // remarked, seen, signed
  const auto hers = ward.ines.get("/api/my-data").body();
  CHECK(hers.at("remarks_written").size() == 1);
  CHECK(hers.at("signed_for_others")[0].at("about") == "ann");
  CHECK(hers.at("signed_for_others")[0].at("report").is_null());
  CHECK(ward.ben.get("/api/my-data").body().at("audit").empty());
}

TEST_CASE("erasing oneself says what stays, and nothing of the person does") {
  Ward ward;
  REQUIRE(ward.ines.post(ward.at("/raters/ann/remarks"), {{"text", "Starts the watch late."}}).status == 201);
  ward.sign("ann", ready_until);
  const auto gone = ward.ann.erase("/api/my-data", {{"passphrase", passphrase}});
  REQUIRE(gone.status == 200);
  CHECK(gone.body().at("stays").get<std::string>().find("log of who saw") != std::string::npos);
  CHECK(ward.ines.get(ward.at("/raters/ann")).status == 404);
  auto store = ward.house.store();
  CHECK(store::sign_offs_of(store, RaterId("ann")).empty());
  for (const auto& entry : store::entries(store, 100)) CHECK(entry.subject != RaterId("ann"));
  CHECK(store.check().empty());
  CHECK(ward.board().at("raters").size() == 1);
}

TEST_CASE("the report is downloaded as one file of HTML") {
  Ward ward;
  const auto report = ward.ines.get(ward.at("/raters/ben/report"));
  CHECK(report.status == 200);
  CHECK(report.type == "text/html; charset=utf-8");
  CHECK(report.header("Content-Disposition") == "attachment; filename=\"rater-ben.html\"");
  CHECK(report.text.find("ben") != std::string::npos);
  CHECK(report.text.find("</html>") != std::string::npos);
}

TEST_CASE("whoever looks after another group sees nothing of these raters; the department's lead sees all") {
  Ward ward;
  auto otto = another_instructor(ward.house, "otto");
  const auto his = open_group(otto);
  auto eve = student(ward.house, his.code, "eve");
  for (const std::string rest : {"/board", "/suspects", "/due", "/cases/pb-lark/4", "/raters/ann",
                                 "/raters/ann/report", "/raters/ann/sign-offs/1", "/assignments"}) {
    INFO(rest);
    CHECK(otto.get(ward.at(rest)).status == 404);
    CHECK(ward.ann.get(ward.at(rest)).status == 403);
    // A rater of another group is none of this one.
    if (rest.starts_with("/raters/")) CHECK(otto.get("/api/groups/" + his.id + rest).status == 404);
  }
  CHECK(otto.post(ward.at("/raters/ann/remarks"), {{"text", "x"}}).status == 404);
  CHECK(otto.post(ward.at("/raters/ann/sign-offs"), {{"name", "x"}}).status == 404);
  CHECK(ward.ines.get("/api/groups/" + his.id + "/board").status == 200);
  CHECK(ward.ines.get("/api/groups/" + his.id + "/raters/eve").status == 200);
}

TEST_CASE("every view of a named rater and every change is written down, and only the lead reads the log") {
  Ward ward;
  auto otto = another_instructor(ward.house, "otto");
  ward.board();
  ward.ines.get(ward.at("/raters/ann"));
  ward.ines.get(ward.at("/raters/ann/report"));
  ward.ines.get(ward.at("/cases/pb-lark/4"));
  ward.ines.post(ward.at("/raters/ann/remarks"), {{"text", "x"}});
  ward.sign("ann", ready_until);
  ward.ines.get(ward.at("/raters/ann/sign-offs/1"));
  // What is refused leaves no trace: nothing was seen.
  ward.ines.get(ward.at("/raters/nobody"));
  CHECK(otto.get("/api/audit").status == 403);
  CHECK(ward.ann.get("/api/audit").status == 403);
  const auto log = ward.ines.get("/api/audit").body();
  std::vector<std::string> deeds;
  for (const auto& one : log) {
    deeds.push_back(one.at("deed"));
    CHECK(one.at("actor") == "ines");
    CHECK(one.at("about").get<std::string>().find("ann") == std::string::npos);
  }
  CHECK(deeds == std::vector<std::string>{"saw-sign-off", "signed-off", "remarked", "saw-case-item",
                                          "took-report", "saw-rater", "saw-board"});
  CHECK(log[0].at("subject") == "ann");
  CHECK(log[6].at("subject").is_null());
  CHECK(ward.ines.get("/api/audit").body()[0].at("deed") == "saw-audit");
}

TEST_CASE("the lead sets how long things are kept, and the hourly tidying takes what is older") {
  Ward ward;
  auto otto = another_instructor(ward.house, "otto");
  CHECK(otto.get("/api/retention").status == 403);
  CHECK(otto.put("/api/retention", {{"days", 30}}).status == 403);
  CHECK(ward.ines.get("/api/retention").body().at("days").is_null());
  for (const Json& days : {Json(29), Json(0), Json(-1), Json(2.5), Json("30"), Json(99999)})
    CHECK(ward.ines.put("/api/retention", {{"days", days}}).status == 422);
  CHECK(ward.ines.put("/api/retention", Json::object()).status == 422);
  CHECK(ward.ines.put("/api/retention", {{"days", 30}}).body().at("days") == 30);
  ward.house.wait(24h * 31);
  ward.ines.post("/api/sign-in", {{"rater", "ines"}, {"passphrase", passphrase}});
  // What tidies is put behind the request that came first.
  ward.ines.get("/api/me");
  CHECK(ward.board().at("raters").empty());
  const auto log = ward.ines.get("/api/audit").body();
  REQUIRE(log.size() == 2);
  CHECK(log[1].at("deed") == "purged");
  CHECK(log[1].at("about").get<std::string>().starts_with("2 people"));
}
