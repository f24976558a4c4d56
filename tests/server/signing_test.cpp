// Sign-offs and remarks, and what stays of them, over the whole site without a socket.

#include <algorithm>
#include <memory>
#include <utility>

#include <SQLiteCpp/SQLiteCpp.h>
#include <catch2/catch.hpp>

#include "base/fingerprint.hpp"
#include "base/random.hpp"
#include "server/api/rater_report.hpp"
#include "server/ward.hpp"
#include "store/audit.hpp"
#include "store/restore.hpp"
#include "store/sign_offs.hpp"

using namespace evenhand;
using namespace evenhand::test;

TEST_CASE("a sign-off freezes the report byte by byte: a correction is a version of its own, and both stay") {
  Ward ward;
  const auto first = ward.sign("ann", ready_until);
  CHECK(first.at("version") == 1);
  CHECK(first.at("verdict") == "Ready");
  CHECK(first.at("valid_until") == "2027-08-31T23:59:59Z");
  CHECK(first.at("in_force") == true);
  const auto bytes = ward.ines.get(ward.at("/raters/ann/sign-offs/1"));
  CHECK(bytes.header("Content-Disposition") == "attachment; filename=\"rater-ann-version-1.json\"");
  CHECK(first.at("report_fingerprint") == base::fingerprint(bytes.text));
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
  CHECK(all[1].at("intact") == true);
  // The first one's day is far off, but the second took its place.
  CHECK(all[0].at("valid_until") == "2027-08-31T23:59:59Z");
  CHECK(all[0].at("in_force") == false);
  CHECK(all[1].at("in_force") == false);
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

TEST_CASE("what was worked out beside the desk is signed only where nothing moved since") {
  Ward ward;
  auto store = ward.house.store();
  base::Random random(1);
  const auto library = std::make_shared<const cases::Library>(confirmed_library());
  const auto other = std::make_shared<const cases::Library>(confirmed_library());
  const auto at = [&](const std::shared_ptr<const cases::Library>& held) {
    server::Visit visit{
        .store = store, .library = *held, .who = {}, .now = ward.house.now(), .random = random};
    visit.held_library = held;
    return visit;
  };
  const auto group = store::group(store, GroupId(ward.group.id)).value();
  auto visit = at(library);
  const auto task = server::rater_task({group, RaterId("ann")}, visit);
  const auto report = server::rater_report(task, store);
  REQUIRE(report);
  REQUIRE(*report);
  const auto stands = [&](server::Visit now) { return server::still_stands(**report, task, now); };
  CHECK(stands(at(library)));
  CHECK_FALSE(stands(at(other)));  // whatever is in it: keys and criteria were another file's
  auto going = at(library);
  going.library_is_going = true;
  CHECK_FALSE(stands(going));
  // Ann is compared with Ben, whose scores are taken back.
  REQUIRE(store.undo_import(2, ward.house.now()));
  CHECK_FALSE(stands(at(library)));
}

TEST_CASE("own scores, cases met before and members that moved are noticed before a sign-off") {
  Ward ward;
  auto store = ward.house.store();
  base::Random random(1);
  const auto library = std::make_shared<const cases::Library>(confirmed_library());
  const auto group = store::group(store, GroupId(ward.group.id)).value();
  const auto visit = [&] {
    server::Visit one{
        .store = store, .library = *library, .who = {}, .now = ward.house.now(), .random = random};
    one.held_library = library;
    return one;
  };
  const auto prepared = [&] {
    auto now = visit();
    auto task = server::rater_task({group, RaterId("ann")}, now);
    auto report = server::rater_report(task, store);
    REQUIRE(report);
    REQUIRE(*report);
    return std::pair(std::move(task), std::move(**report));
  };
  const auto stands = [&](const auto& one) {
    auto now = visit();
    return server::still_stands(one.second, one.first, now);
  };
  const auto first = prepared();
  CHECK(stands(first));
  student(ward.house, ward.group.code, "eve");
  CHECK_FALSE(stands(first));  // one more to compare with
  const auto second = prepared();
  CHECK(stands(second));
  // Practice decides nothing, and moves nothing.
  REQUIRE(ward.ann.get("/api/progress").status == 200);
  CHECK(stands(second));
  REQUIRE(store.undo_import(1, ward.house.now()));
  CHECK_FALSE(stands(second));
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
  CHECK(mine.at("sign_offs")[0].at("report_fingerprint") ==
        base::fingerprint(mine.at("sign_offs")[0].at("report").get<std::string>()));
  CHECK(mine.at("audit").size() == 4);  // remarked, seen twice, signed
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
  const auto entries = store::entries(store, 100);
  REQUIRE(entries.size() == 3);  // what Ines did: looked at her, wrote of her and signed
  for (const auto& entry : entries) CHECK(entry.subject != RaterId("ann"));
  CHECK(store.check().empty());
  CHECK(ward.board().at("raters").size() == 1);
}

TEST_CASE("a row of which anything was changed is no longer what was signed, on the page as in the check") {
  for (const std::string change :
       {"name = 'Somebody Else'", "verdict = 'Not yet'", "valid_until = valid_until + 86400000",
        "signed_at = signed_at + 1000", "why = 'x'", "standard = 'x'", "standard_fingerprint = 'x'",
        "data_fingerprint = 'x'", "program_version = 'x'", "report = report || ' '",
        "report_fingerprint = 'x'", "fingerprint = 'x'", "version = 2",
        "person = (SELECT number FROM person WHERE rater = 'ben')"}) {
    INFO(change);
    Ward ward;
    ward.sign("ann", ready_until);
    SQLite::Database(ward.house.store_path(), SQLite::OPEN_READWRITE)
        .exec("DROP TRIGGER sign_off_stays; UPDATE sign_off SET " + change);
    const std::string rater = change.starts_with("person") ? "ben" : "ann";
    const auto all = ward.ines.get(ward.at("/raters/" + rater)).body().at("sign_offs");
    REQUIRE(all.size() == 1);
    CHECK(all[0].at("intact") == false);
    auto store = ward.house.store();
    const auto findings = store.check();
    CHECK(std::ranges::any_of(findings, [&](const std::string& one) {
      return one.starts_with("sign-off of rater " + rater + ", version");
    }));
  }
}

TEST_CASE("scores that go while a sign-off is worked out beside the desk are not signed over") {
  for (int i = 0; i < 10; ++i) {
    Ward ward;
    const auto body = ward.read_and("ann", ready_until);
    const auto [signing, undone] = overtake(
        ward.house, [&] { return ward.ines.begin("POST", ward.at("/raters/ann/sign-offs"), body); },
        [&] { return ward.ines.begin("DELETE", "/api/imports/1"); });  // Ann's
    CHECK(undone.status == 200);
    if (signing.status == 201) continue;
    CHECK(signing.status == 409);
    CHECK(signing.code() == "other-report");
    auto store = ward.house.store();
    CHECK_FALSE(store::sign_off_of(store, RaterId("ann"), 1));
    return;
  }
  FAIL("each sign-off was worked out before the import could be undone");
}

TEST_CASE("what was read is what is signed: a check, a standard or a ruling in between is said") {
  Ward ward;
  const std::string path = ward.at("/raters/ann/sign-offs");
  const auto read = ward.read_and("ann", ready_until);
  for (const std::string name :
       {"data_fingerprint", "standard_fingerprint", "instrument_fingerprint", "keys_fingerprint"}) {
    INFO(name);
    auto body = read;
    body[name] = std::string(64, '0');
    CHECK(ward.ines.post(path, body).code() == "other-report");
    body.erase(name);
    const auto without = ward.ines.post(path, body);
    CHECK(without.status == 422);
    CHECK(without.body().at("error").at("field") == name);
  }
  // Scores of some other cases come in while the instructor reads.
  std::vector<scores::Score> more(1);
  more[0].rater = RaterId("ann");
  more[0].sitting = SittingId("second");
  more[0].scored_case = CaseId("pb-lark");
  more[0].item = ItemId("4");
  more[0].value = "0";
  {
    auto store = ward.house.store();
    REQUIRE(store.import_scores(scores::table_of(more).value(), {.name = "more.csv", .file_fingerprint = "f"},
                                ward.house.now()));
  }
  const auto late = ward.ines.post(path, read);
  CHECK(late.status == 409);
  CHECK(late.code() == "other-report");
  CHECK(late.text.find("Load the page anew") != std::string::npos);
  CHECK(ward.ines.get(ward.at("/raters/ann")).body().at("sign_offs").empty());
  // Another rater's scores change nothing of this report's.
  const auto again = ward.read_and("ann", {{"name", "Ines Faber, PT"}});
  ward.import("ines", 0, "own.csv");
  CHECK(ward.ines.post(path, again).status == 201);
}

TEST_CASE("only the latest version of a sign-off can be in force") {
  Ward ward;
  ward.sign("ann", ready_until);
  CHECK(ward.ines.get(ward.at("/raters/ann")).body().at("sign_offs")[0].at("in_force") == true);
  CHECK(ward.ines.get(ward.at("/due")).body().size() == 1);
  ward.sign("ann", {{"name", "Ines Faber, PT"}, {"why", "Signed too early."}});
  const auto all = ward.ines.get(ward.at("/raters/ann")).body().at("sign_offs");
  REQUIRE(all.size() == 2);
  for (const auto& one : all) CHECK(one.at("in_force") == false);
  CHECK(ward.ines.get(ward.at("/due")).body().empty());  // as the page says
  ward.sign("ann", {{"name", "Ines Faber, PT"}, {"valid_until", "2027-01-31"}, {"why", "After all."}});
  const auto more = ward.ines.get(ward.at("/raters/ann")).body().at("sign_offs");
  REQUIRE(more.size() == 3);
  CHECK(more[0].at("in_force") == false);
  CHECK(more[2].at("in_force") == true);
}

TEST_CASE("a key that second readers confirm under the same scores and criteria is another report to sign") {
  Ward unconfirmed(shipped_library()), confirmed;
  const auto a = unconfirmed.read_and("ann", Json::object()), b = confirmed.read_and("ann", Json::object());
  CHECK(a.at("data_fingerprint") == b.at("data_fingerprint"));
  CHECK(a.at("instrument_fingerprint") == b.at("instrument_fingerprint"));
  CHECK(a.at("keys_fingerprint") != b.at("keys_fingerprint"));
  CHECK(unconfirmed.read_and("ann", Json::object()) == a);
}
