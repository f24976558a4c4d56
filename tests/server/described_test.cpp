// Trials that were taken in their described form, and what is arranged beforehand, over the whole site.

#include <chrono>

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "store/audit.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

namespace {

/// A group with Ann, to whom a skills check was given from 9 to 10. It is 9 o'clock.
struct Checkroom {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  OpenGroup group = open_group(ines);
  Browser ann = student(house, group.code, "ann");
  Json played{};  ///< the first step whose trial is played

  Checkroom() {
    REQUIRE(ines.post("/api/groups/" + group.id + "/assignments", {{"set", "pb-first-steps"},
                                                                   {"mode", "skills-check"},
                                                                   {"opens", "2026-09-01T09:00:00Z"},
                                                                   {"closes", "2026-09-01T10:00:00Z"}})
                .status == 201);
    house.wait(60min);
  }
  std::string rater(const std::string& rest = "") const {
    return "/api/groups/" + group.id + "/raters/ann" + rest;
  }
  std::string begin() { return ann.post("/api/sittings", {{"set", "pb-first-steps"}}).body().at("id"); }
  /// Whether a trial of the step that counts is played, and the first such.
  bool is_played(const std::string& sitting, const Json& step) {
    const Json known =
        ann.get("/api/sittings/" + sitting + "/cases/" + step.at("case").get<std::string>()).body();
    const Json items = known.at("items");
    for (const auto& item : items)
      if (item.at("id") == step.at("item")) {
        const Json trials = item.at("trials");
        return !trials.empty() && !trials[0].value("practice", false) && !trials[0].at("timeline").is_null();
      }
    return false;
  }
  Answer answer(const std::string& sitting, const Json& step, const Json& described, int revision = 1) {
    return ann.put("/api/sittings/" + sitting + "/answers/" + step.at("case").get<std::string>() + "/" +
                       step.at("item").get<std::string>() + "/" + std::to_string(revision),
                   {{"status", "observed"}, {"value", "2"}, {"trial", 1}, {"described", described}});
  }
  /// Answers everything, the first played trial from its description, and hands in.
  std::string take() {
    const std::string sitting = begin();
    const Json steps = ann.get("/api/sittings/" + sitting).body().at("steps");
    for (const auto& step : steps) {
      const bool first = played.is_null() && is_played(sitting, step);
      if (first) played = step;
      const auto saved = answer(sitting, step, first ? Json{1} : Json::array());
      INFO(saved.text);
      REQUIRE(saved.status == 200);
    }
    REQUIRE_FALSE(played.is_null());
    REQUIRE(ann.post("/api/sittings/" + sitting + "/finish").status == 200);
    return sitting;
  }
  std::string decision_at(const Json& one) const {
    return rater("/described/" + one.at("sitting").get<std::string>() + "/" +
                 one.at("case").get<std::string>() + "/" + one.at("item").get<std::string>());
  }
  std::size_t missed(const std::string& item) {
    const Json checks = ines.get(rater()).body().at("checks");
    const Json items = checks.at("items");
    for (const auto& one : items)
      if (one.at("item") == item) return one.at("missed");
    return 0;
  }
};

}  // namespace

TEST_CASE("an answer from a description waits on the rater's page and the board until somebody says a word") {
  Checkroom room;
  const auto sitting = room.take();
  const auto kept = room.ann.get("/api/sittings/" + sitting).body();
  CHECK(kept.at("described_accepted") == false);
  std::size_t described = 0;
  const Json answers = kept.at("answers");
  for (const auto& one : answers) described += one.at("described") == Json{1};
  CHECK(described == 1);
  const Json board = room.ines.get("/api/groups/" + room.group.id + "/board").body();
  CHECK(board.at("raters")[0].at("described_open") == 1);
  const Json page = room.ines.get(room.rater()).body();
  REQUIRE(page.at("described").size() == 1);
  const Json one = page.at("described")[0];
  CHECK(one.at("case") == room.played.at("case"));
  CHECK(one.at("standing") == "open");
  CHECK(one.at("trials") == Json{1});
  CHECK(one.at("settled").is_null());
  const auto notices = page.at("checks").at("notices").dump();
  CHECK(notices.find("taken in their described form") != std::string::npos);
  CHECK(notices.find("not accepted yet") != std::string::npos);

  const auto accepted =
      room.ines.put(room.decision_at(one), {{"revision", 1}, {"accepted", true}, {"why", "As agreed."}});
  REQUIRE(accepted.status == 200);
  CHECK(accepted.body()[0].at("standing") == "accepted");
  CHECK(accepted.body()[0].at("decided").at("by") == "ines");
  const Json after = room.ines.get("/api/groups/" + room.group.id + "/board").body();
  CHECK(after.at("raters")[0].at("described_open") == 0);
  auto store = room.house.store();
  CHECK(store::entries_about(store, RaterId("ann")).back().deed != store::Deed::saw_board);
  bool noted = false;
  const auto entries = store::entries_about(store, RaterId("ann"));
  for (const auto& entry : entries) noted = noted || entry.deed == store::Deed::decided_described;
  CHECK(noted);
}

TEST_CASE("what is not accepted counts as not given, and that is taken back") {
  Checkroom room;
  room.take();
  const Json one = room.ines.get(room.rater()).body().at("described")[0];
  const std::string item = one.at("item");
  const auto before = room.ines.get(room.rater()).body().at("checks").at("rests_on");
  const auto as_given = room.missed(item);
  REQUIRE(room.ines.put(room.decision_at(one), {{"revision", 1}, {"accepted", false}, {"why", "Not agreed."}})
              .status == 200);
  const auto as_missed = room.missed(item);
  CHECK(as_missed >= as_given);
  const auto words = room.ines.get(room.rater()).body().at("checks").at("notices").dump();
  CHECK(words.find("not accepted and counts as not given") != std::string::npos);
  CHECK(room.ines.get(room.rater()).body().at("checks").at("rests_on") != before);
  REQUIRE(room.ines.put(room.decision_at(one), {{"revision", 1}, {"accepted", nullptr}}).status == 200);
  CHECK(room.missed(item) == as_given);
  CHECK(room.ines.get(room.rater()).body().at("checks").at("rests_on") == before);
  // What a signed report rests on stands.
  REQUIRE(room.ines.put(room.decision_at(one), {{"revision", 1}, {"accepted", true}, {"why", "After all."}})
              .status == 200);
  Json body{{"name", "Ines Faber, PT"}};
  body.update(room.ines.get(room.rater()).body().at("checks").at("rests_on"));
  REQUIRE(room.ines.post(room.rater("/sign-offs"), body).status == 201);
  const auto late = room.ines.put(room.decision_at(one), {{"revision", 1}, {"accepted", nullptr}});
  CHECK(late.status == 409);
  CHECK(room.ines.get(room.rater()).body().at("described")[0].at("settled") == "a report was signed since");
}

TEST_CASE("a word about a described trial is refused where it makes no sense") {
  Checkroom room;
  room.take();
  const Json one = room.ines.get(room.rater()).body().at("described")[0];
  const auto field = [&](const Json& body) {
    const auto answer = room.ines.put(room.decision_at(one), body);
    CHECK(answer.status == 422);
    return answer.body().value("/error/field"_json_pointer, "");
  };
  CHECK(field({{"revision", 1}, {"accepted", true}}) == "why");
  CHECK(field({{"revision", 1}, {"accepted", true}, {"why", ""}}) == "why");
  CHECK(field({{"revision", 1}, {"accepted", "yes"}, {"why", "x"}}) == "accepted");
  CHECK(field({{"accepted", true}, {"why", "x"}}) == "revision");
  const Json yes{{"revision", 1}, {"accepted", true}, {"why", "x"}};
  CHECK(room.ines.put(room.decision_at(one), {{"revision", 2}, {"accepted", true}, {"why", "x"}}).status ==
        409);
  CHECK(room.ines.put(room.rater("/described/none/pb-lark/1"), yes).status == 404);
  // Nobody but who looks after the rater.
  CHECK(room.ann.put(room.decision_at(one), yes).status != 200);
  auto other = another_instructor(room.house, "olga");
  CHECK(other.put(room.decision_at(one), yes).status == 404);
  CHECK(other.put(room.rater("/arrangement"), {{"more_minutes", 5}, {"described", true}}).status == 404);
}

TEST_CASE("only trials that are played have a description with times, and it is remembered over revisions") {
  Checkroom room;
  const auto sitting = room.begin();
  const Json steps = room.ann.get("/api/sittings/" + sitting).body().at("steps");
  for (const auto& step : steps) {
    if (step.at("case_number") != 1) continue;
    if (!room.is_played(sitting, step)) {
      CHECK(room.answer(sitting, step, Json{1}).status == 422);
      continue;
    }
    CHECK(room.answer(sitting, step, Json{9}).status == 422);
    CHECK(room.answer(sitting, step, "1").status == 422);
    REQUIRE(room.answer(sitting, step, Json{1}).status == 200);
    CHECK(room.answer(sitting, step, Json{1}).status == 200);  // the same again
    REQUIRE(room.answer(sitting, step, Json::array(), 2).status == 200);
    const Json answers = room.ann.get("/api/sittings/" + sitting).body().at("answers");
    for (const auto& one : answers)
      if (one.at("item") == step.at("item")) CHECK(one.at("described") == Json{1});
  }
}

TEST_CASE("with more time a rater answers on after the others, and the form that was arranged is accepted") {
  Checkroom room;
  auto ben = student(room.house, room.group.code, "ben");
  const auto arranged =
      room.ines.put(room.rater("/arrangement"), {{"more_minutes", 30}, {"described", true}});
  REQUIRE(arranged.status == 200);
  CHECK(arranged.body().at("by") == "ines");
  CHECK(room.ann.get("/api/assignments").body()[0].at("closes") == "2026-09-01T10:30:00Z");
  CHECK(room.ann.get("/api/assignments").body()[0].at("more_minutes") == 30);
  CHECK(ben.get("/api/assignments").body()[0].at("closes") == "2026-09-01T10:00:00Z");
  const Json board = room.ines.get("/api/groups/" + room.group.id + "/board").body();
  CHECK(board.at("arrangements") ==
        Json::array({{{"rater", "ann"}, {"more_minutes", 30}, {"described", true}}}));
  const auto sitting = room.begin();
  CHECK(room.ann.get("/api/sittings/" + sitting).body().at("described_accepted") == true);
  room.house.wait(65min);
  CHECK(ben.post("/api/sittings", {{"set", "pb-first-steps"}}).status == 409);
  const Json steps = room.ann.get("/api/sittings/" + sitting).body().at("steps");
  for (const auto& step : steps) {
    const bool played = room.is_played(sitting, step);
    REQUIRE(room.answer(sitting, step, played ? Json{1} : Json::array()).status == 200);
  }
  REQUIRE(room.ann.post("/api/sittings/" + sitting + "/finish").status == 200);
  const Json page = room.ines.get(room.rater()).body();
  REQUIRE_FALSE(page.at("described").empty());
  const Json all = page.at("described");
  for (const auto& one : all) {
    CHECK(one.at("standing") == "accepted");
    CHECK(one.at("arranged") == true);
  }
  for (const Json& bad :
       {Json{{"more_minutes", -1}, {"described", true}}, Json{{"more_minutes", 527041}, {"described", true}},
        Json{{"more_minutes", 5}}, Json{{"more_minutes", "5"}, {"described", true}}})
    CHECK(room.ines.put(room.rater("/arrangement"), bad).status == 422);
}
