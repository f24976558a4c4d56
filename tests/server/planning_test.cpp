// Planning on the site: starting values from the reader's own round, plans that are those of the command,
// faults at their fields.

#include <catch2/catch.hpp>

#include "planning/plan.hpp"
#include "scores/read_long.hpp"
#include "server/ward.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

Json icc_question() {
  return {{"want", "icc"},       {"half", 0.1}, {"icc", 0.8},
          {"rater_share", 0.25}, {"raters", 8}, {"cases", nullptr}};
}

}  // namespace

TEST_CASE("without a closed round nothing is measured: with one the start is the round's own") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto none = ines.get("/api/planning");
  REQUIRE(none.status == 200);
  CHECK(none.body().at("start").is_null());
  CHECK(none.body().at("standard").at("looks").size() == 3);
  CHECK(none.body().at("standard").at("looks")[0] == Json{{"cases", 16}, {"scores", 112}});

  const auto made = ines.post(
      "/api/rounds", {{"title", "Fall"}, {"set", "pb-round-demonstration"}, {"groups", Json::array()}});
  REQUIRE(made.status == 201);
  const std::string id = made.body().at("id");
  std::string csv = "rater,round,case,item,score\n";
  int n = 0;
  for (const auto& entry : shipped_library().sets.at("pb-round-demonstration").entries) {
    ++n;
    for (const auto& item : entry.items)
      for (const auto& [rater, off] : {std::pair{"ann", 0}, {"ben", 1}, {"cyd", n % 2}})
        csv += std::string(rater) + "," + id + "," + entry.case_id.text() + "," + item.text() + "," +
               std::to_string(std::min(4, n % 4 + off)) + "\n";
  }
  auto store = house.store();
  REQUIRE(store.import_scores(scores::read_long(csv, "paper.csv")->table, {"paper.csv", "f"}, house.now()));
  CHECK(ines.get("/api/planning").body().at("start").is_null());  // it is still open
  REQUIRE(ines.post("/api/rounds/" + id + "/close").status == 200);
  const auto start = ines.get("/api/planning").body().at("start");
  CHECK(start.at("title") == "Fall");
  CHECK(start.at("raters") == 3);
  const auto group = ines.get("/api/rounds/" + id + "/result").body().at("group");
  // The figures of the report.
  CHECK(start.at("icc").at("estimate").get<double>() == Approx(group.at("icc").at("estimate").get<double>()));
  CHECK(start.at("sem").at("estimate").get<double>() == Approx(group.at("sem").at("estimate").get<double>()));
  CHECK(start.at("mdc").at("upper").get<double>() == Approx(group.at("mdc95").at("upper").get<double>()));
  CHECK(start.at("rater_share") > 0.0);
  CHECK(start.at("rater_share") < 1.0);

  // An instructor who has nothing to do with its raters starts from none of them.
  auto otto = another_instructor(house, "otto");
  open_group(otto);
  const auto others = otto.get("/api/planning").body();
  CHECK((others.at("start").is_null() || others.at("start").contains("why_not")));
  CHECK(others.dump().find("\"icc\"") == std::string::npos);
}

TEST_CASE("a plan on the site is the one that the planning module makes") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto plan = ines.post("/api/planning/plan", icc_question());
  REQUIRE(plan.status == 200);
  const auto own = planning::plan_icc({.expected = {.icc = 0.8, .rater_share = 0.25},
                                       .goal = {.kind = planning::GoalKind::mean_width, .bound = 0.2},
                                       .cases = {},
                                       .raters = 8,
                                       .reach = {.cases = 200, .raters = 60}},
                                      {.replicates = 300, .seed = 1})
                       .value();
  REQUIRE(own.needed->number);
  CHECK(plan.body().at("needed").at("number") == *own.needed->number);
  CHECK(plan.body().at("answer").at("half").get<double>() == Approx(own.answer.mean_width / 2.0));
  CHECK(plan.body().at("rows").size() == own.rows.size());
  CHECK(ines.post("/api/planning/plan", icc_question()).text == plan.text);  // seeded

  const auto mdc =
      ines.post("/api/planning/plan",
                {{"want", "mdc"}, {"half", 1.5}, {"sem", 1.4}, {"rater_share", 0.2}, {"raters", 12}});
  REQUIRE(mdc.status == 200);
  CHECK(mdc.body().at("answer").at("half") <= 1.5);
}

TEST_CASE("the chance of ready grows with the looks, and is small for who does not meet the standard") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto plan = ines.post("/api/planning/plan", {{"want", "ready"}, {"share", 0.92}, {"chance", 0.8}});
  REQUIRE(plan.status == 200);
  const auto rows = plan.body().at("rows");
  REQUIRE(rows.size() == 3);
  const auto chance = [&](std::size_t look, double share) {
    for (const auto& one : rows[look].at("at"))
      if (one.at("share") == share) return one.at("low").get<double>();
    FAIL("no such share");
    return 0.0;
  };
  CHECK(chance(0, 0.92) < chance(1, 0.92));
  CHECK(chance(1, 0.92) < chance(2, 0.92));
  CHECK(chance(2, 0.95) > 0.95);
  // reports/methods/operating-characteristics.md: .7 to 4.6 % at .80 over all looks, and sampling error.
  CHECK(chance(2, 0.80) < 0.06);
  CHECK(plan.body().at("answer").at("cases").get<int>() >= 16);
}

TEST_CASE("what is wrong with a question is said at its field, and students plan nothing", "[edge]") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto fault = [&](const char* field, const Json& value) {
    auto question = icc_question();
    question[field] = value;
    const auto answer = ines.post("/api/planning/plan", question);
    CHECK(answer.status == 422);
    return answer.body().at("error").at("field");
  };
  CHECK(fault("half", 0.0) == "half");
  CHECK(fault("raters", 8.5) == "raters");  // never cut off to a whole number unseen
  CHECK(fault("half", "wide") == "half");
  CHECK(fault("icc", 1.2) == "icc");
  CHECK(fault("rater_share", -0.1) == "rater_share");
  CHECK(fault("raters", 1000) == "raters");
  CHECK(fault("cases", 1) == "cases");
  CHECK(fault("want", "luck") == "want");
  auto ann = student(house, open_group(ines).code, "ann");
  CHECK(ann.get("/api/planning").status == 403);
  CHECK(ann.post("/api/planning/plan", icc_question()).status == 403);
}
