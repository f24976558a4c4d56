// Who sees whose data, what is written down about it, and for how long it is kept.

#include <chrono>

#include <catch2/catch.hpp>

#include "server/ward.hpp"
#include "store/audit.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

TEST_CASE("the report is downloaded as one file of HTML") {
  Ward ward;
  const auto report = ward.ines.get(ward.at("/raters/ben/report"));
  CHECK(report.status == 200);
  CHECK(report.type == "text/html; charset=utf-8");
  CHECK(report.header("Content-Disposition") == "attachment; filename=\"competency-ben-2026-09-01.html\"");
  CHECK(report.text.find("ben") != std::string::npos);
  CHECK(report.text.find("</html>") != std::string::npos);
}

TEST_CASE("whoever looks after another group sees nothing of these raters: the department's lead sees all") {
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

TEST_CASE(
    "an instructor who leads nothing but the own group reads, reports and signs there, and nowhere else") {
  Ward ward;
  auto otto = another_instructor(ward.house, "otto");
  const auto his = open_group(otto);
  const std::string at = "/api/groups/" + his.id;
  student(ward.house, his.code, "eve");
  ward.import("eve", 0, "eve.csv");
  CHECK(otto.get("/api/retention").status == 403);  // no lead
  const auto board = otto.get(at + "/board");
  REQUIRE(board.status == 200);
  REQUIRE(board.body().at("raters").size() == 1);
  CHECK(board.body().at("raters")[0].at("rater") == "eve");
  CHECK(board.body().at("raters")[0].at("status") == "ready");
  const auto page = otto.get(at + "/raters/eve");
  REQUIRE(page.status == 200);
  CHECK(page.body().at("checks").at("verdict") == "Ready");
  // Ann and Ben took the same cases: they are none of his to compare with.
  REQUIRE_FALSE(page.body().at("checks").at("items").empty());
  CHECK(page.text.find("ann") == std::string::npos);
  CHECK(page.text.find("ben") == std::string::npos);
  const auto report = otto.get(at + "/raters/eve/report");
  CHECK(report.status == 200);
  CHECK(report.text.find("eve") != std::string::npos);
  CHECK(otto.get(at + "/cases/pb-lark/4").body().at("given") == 1);
  CHECK(otto.get(at + "/suspects").status == 200);
  CHECK(otto.post(at + "/raters/eve/remarks", {{"text", "Steady."}}).status == 201);
  Json body{{"name", "Otto Lind"}, {"valid_until", "2027-08-31"}};
  body.update(page.body().at("checks").at("rests_on"));
  const auto made = otto.post(at + "/raters/eve/sign-offs", body);
  REQUIRE(made.status == 201);
  CHECK(made.body().at("signed_by") == "otto");
  CHECK(otto.get(at + "/raters/eve/sign-offs/1").body().at("decision").at("verdict") == "Ready");
  CHECK(otto.get(at + "/due").body().size() == 1);
  // The same of a rater who is not his.
  CHECK(otto.post(ward.at("/raters/ann/sign-offs"), body).status == 404);
  CHECK(otto.post(at + "/raters/ann/sign-offs", body).status == 404);
  CHECK(ward.ines.get(ward.at("/raters/ann")).body().at("sign_offs").empty());
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
  REQUIRE(log.size() == 8);
  std::vector<std::string> deeds;
  for (const auto& one : log) {
    deeds.push_back(one.at("deed"));
    CHECK(one.at("actor") == "ines");
    CHECK(one.at("about").get<std::string>().find("ann") == std::string::npos);
  }
  CHECK(deeds == std::vector<std::string>{"saw-sign-off", "signed-off", "saw-rater", "remarked",
                                          "saw-case-item", "took-report", "saw-rater", "saw-board"});
  CHECK(log[0].at("subject") == "ann");
  CHECK(log[7].at("subject").is_null());
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
