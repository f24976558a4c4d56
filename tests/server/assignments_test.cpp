#include <chrono>
#include <set>

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "store/audit.hpp"
#include "store/groups.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

namespace {

/// A group with a student. It is 8 o'clock.
struct Classroom {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  OpenGroup group = open_group(ines);
  Browser ann = student(house, group.code, "ann");

  std::string at() const { return "/api/groups/" + group.id + "/assignments"; }
  Answer give(const Json& more) {
    Json body{
        {"set", "pb-first-steps"}, {"opens", "2026-09-01T09:00:00Z"}, {"closes", "2026-09-01T10:00:00Z"}};
    body.update(more);
    return ines.post(at(), body);
  }
  Answer begin(Browser& who, const std::string& set = "pb-first-steps") {
    return who.post("/api/sittings", {{"set", set}});
  }
  /// Answers every item of the sitting that has no answer.
  void answer_all(Browser& who, const std::string& id) {
    const Json sitting = who.get("/api/sittings/" + id).body();
    for (const auto& step : sitting.at("steps"))
      if (step.at("revision") == 0) REQUIRE(answer(who, id, step).status == 200);
  }
  static Answer answer(Browser& who, const std::string& id, const Json& step) {
    return who.put("/api/sittings/" + id + "/answers/" + step.at("case").get<std::string>() + "/" +
                       step.at("item").get<std::string>() + "/1",
                   {{"trial", nullptr},
                    {"status", "observed"},
                    {"value", "2"},
                    {"observations", Json::object()},
                    {"stopwatch", Json::array()},
                    {"sureness", nullptr}});
  }
};

}  // namespace

TEST_CASE("an instructor gives a set to a group, and a student finds it with its closing time") {
  Classroom room;
  const auto made = room.give({{"attempts", 2}});
  REQUIRE(made.status == 201);
  CHECK(made.body().at("state") == "upcoming");
  CHECK(made.body().at("mode") == "practice");
  const auto mine = room.ann.get("/api/assignments").body();
  REQUIRE(mine.size() == 1);
  CHECK(mine[0].at("set").at("title") == "First steps on the Pediatric Balance Scale");
  CHECK(mine[0].at("closes") == "2026-09-01T10:00:00Z");
  CHECK(mine[0].at("used") == 0);
  room.house.wait(60min);
  CHECK(room.ann.get("/api/assignments").body()[0].at("state") == "open");
  CHECK(room.ines.get(room.at()).body()[0].at("state") == "open");
  // Who is not in the group was given nothing.
  CHECK(student(room.house, open_group(room.ines).code, "ben").get("/api/assignments").body().empty());
}

TEST_CASE("what is open comes before what is to come, and that before what is over") {
  Classroom room;
  REQUIRE(room.give({{"opens", "2026-09-01T08:00:00Z"}, {"closes", "2026-09-01T08:30:00Z"}}).status == 201);
  REQUIRE(room.give({{"opens", "2026-09-01T12:00:00Z"}, {"closes", "2026-09-01T13:00:00Z"}}).status == 201);
  REQUIRE(room.give({{"closes", "2026-09-02T10:00:00Z"}}).status == 201);
  room.house.wait(90min);
  std::vector<std::string> states;
  for (const auto& one : room.ann.get("/api/assignments").body()) states.push_back(one.at("state"));
  CHECK(states == std::vector<std::string>{"open", "upcoming", "closed"});
}

TEST_CASE("a skills check is begun inside its window only") {
  Classroom room;
  auto ben = student(room.house, room.group.code, "ben");
  REQUIRE(room.give({{"mode", "skills-check"}}).status == 201);
  const auto early = room.begin(room.ann);
  CHECK(early.status == 409);
  CHECK(early.text.find("opens at 2026-09-01T09:00:00Z") != std::string::npos);
  room.house.wait(60min);
  const auto begun = room.begin(room.ann);
  REQUIRE(begun.status == 201);
  // In the mode it was given: the reasons come at the end.
  const std::string id = begun.body().at("id");
  const auto sitting = room.ann.get("/api/sittings/" + id).body();
  CHECK(sitting.at("mode") == "skills-check");
  const auto saved = room.answer(room.ann, id, sitting.at("steps")[0]);
  CHECK(saved.status == 200);
  CHECK(saved.body().at("feedback").is_null());
  CHECK(room.begin(room.ann).body().at("id") == id);  // gone on with
  room.house.wait(60min);
  const auto late = room.begin(ben);
  CHECK(late.status == 409);
  CHECK(late.text.find("closed at 2026-09-01T10:00:00Z") != std::string::npos);
}

TEST_CASE("after the window no answer is taken, and what there is may be handed in") {
  Classroom room;
  REQUIRE(room.give({{"mode", "skills-check"}}).status == 201);
  room.house.wait(60min);
  const std::string id = room.begin(room.ann).body().at("id");
  const auto steps = room.ann.get("/api/sittings/" + id).body().at("steps");
  REQUIRE(room.answer(room.ann, id, steps[0]).status == 200);
  CHECK(room.ann.post("/api/sittings/" + id + "/finish").code() == "unanswered");
  room.house.wait(59min);
  REQUIRE(room.answer(room.ann, id, steps[1]).status == 200);
  room.house.wait(2min);
  const auto late = room.answer(room.ann, id, steps[2]);
  CHECK(late.status == 409);
  CHECK(late.code() == "closed");
  // What was taken in time is confirmed again: the answer to it may have been lost on the way.
  CHECK(room.answer(room.ann, id, steps[1]).status == 200);
  const auto done = room.ann.post("/api/sittings/" + id + "/finish");
  CHECK(done.status == 200);
  CHECK(done.body().at("summary").at("unscored").is_number());
  const auto mine = room.ann.get("/api/assignments").body()[0];
  CHECK(mine.at("done").size() == 1);
  CHECK(mine.at("open_sitting").is_null());
}

TEST_CASE("attempts are counted, and no further one is begun") {
  Classroom room;
  REQUIRE(room.give({{"attempts", 2}, {"opens", "2026-09-01T08:00:00Z"}}).status == 201);
  std::set<std::string> ids;
  for (int i = 0; i < 2; ++i) {
    const auto begun = room.begin(room.ann);
    REQUIRE(begun.status == 201);
    ids.insert(begun.body().at("id"));
    room.answer_all(room.ann, begun.body().at("id"));
    REQUIRE(room.ann.post("/api/sittings/" + begun.body().at("id").get<std::string>() + "/finish").status ==
            200);
  }
  CHECK(ids.size() == 2);
  CHECK(room.ann.get("/api/assignments").body()[0].at("used") == 2);
  const auto third = room.begin(room.ann);
  CHECK(third.status == 409);
  CHECK(third.text.find("2 attempts") != std::string::npos);
}

TEST_CASE("free practice of a set goes on before and after it was given for practice") {
  Classroom room;
  REQUIRE(room.give(Json::object()).status == 201);
  const auto begun = room.begin(room.ann);
  CHECK(begun.status == 201);
  CHECK(room.ann.get("/api/assignments").body()[0].at("used") == 0);
  room.house.wait(3h);
  CHECK(room.begin(room.ann).body().at("id") == begun.body().at("id"));
}

TEST_CASE("an open sitting whose window is over is handed in when the set is begun in a later window") {
  Classroom room;
  REQUIRE(room.give(Json::object()).status == 201);
  REQUIRE(room.give({{"opens", "2026-09-01T11:00:00Z"}, {"closes", "2026-09-01T12:00:00Z"}}).status == 201);
  room.house.wait(60min);
  const std::string first = room.begin(room.ann).body().at("id");
  room.house.wait(2h);
  const auto second = room.begin(room.ann);
  REQUIRE(second.status == 201);
  CHECK(second.body().at("id") != first);
  CHECK_FALSE(room.ann.get("/api/sittings/" + first).body().at("finished").is_null());
}

TEST_CASE("what is withdrawn is no longer offered, and binds nobody") {
  Classroom room;
  const std::string id = room.give({{"mode", "skills-check"}}).body().at("id");
  CHECK(room.ines.erase(room.at() + "/none").status == 404);
  REQUIRE(room.ines.erase(room.at() + "/" + id).status == 200);
  CHECK(room.ann.get("/api/assignments").body().empty());
  CHECK(room.ines.get(room.at()).body()[0].at("state") == "withdrawn");
  CHECK(room.begin(room.ann).status == 201);
}

TEST_CASE("a set that somebody practiced with cannot check them, when it is given as a skills check later") {
  Classroom room;
  auto ben = student(room.house, room.group.code, "ben");
  auto cid = student(room.house, room.group.code, "cid");
  // Ann saw one reason, Ben only opened the set, Cid practiced with it to its end.
  const std::string anns = room.begin(room.ann).body().at("id");
  REQUIRE(room.answer(room.ann, anns, room.ann.get("/api/sittings/" + anns).body().at("steps")[0]).status ==
          200);
  const std::string bens = room.begin(ben).body().at("id");
  const std::string cids = room.begin(cid).body().at("id");
  room.answer_all(cid, cids);
  REQUIRE(cid.post("/api/sittings/" + cids + "/finish").status == 200);
  REQUIRE(room.give({{"mode", "skills-check"}, {"opens", "2026-09-01T08:00:00Z"}}).status == 201);
  for (Browser* who : {&room.ann, &cid}) {
    const auto refused = room.begin(*who);
    CHECK(refused.status == 409);
    CHECK(refused.code() == "taken");
    CHECK(refused.text.find("practiced with it") != std::string::npos);
    CHECK(room.ines.get(room.at()).body().size() == 1);
  }
  const auto begun = room.begin(ben);
  REQUIRE(begun.status == 201);
  CHECK(begun.body().at("id") != bens);
  CHECK(ben.get("/api/sittings/" + begun.body().at("id").get<std::string>()).body().at("mode") ==
        "skills-check");
}

TEST_CASE("a set is given as a skills check once to the same raters, and taken once whoever gives it") {
  Classroom room;
  const Json check{{"mode", "skills-check"}, {"opens", "2026-09-01T08:00:00Z"}};
  const std::string first = room.give(check).body().at("id");
  const auto twice = room.give(check);
  CHECK(twice.status == 409);
  CHECK(twice.code() == "given-before");
  CHECK(twice.text.find("withdraw the first one") != std::string::npos);
  CHECK(room.give({{"opens", "2026-09-01T08:00:00Z"}}).status == 201);  // for practice, with another mode
  // Ann alone in another group: nobody there has not been given it.
  const auto join = [&](const OpenGroup& group) {
    auto store = room.house.store();
    REQUIRE(store::join_group(store, GroupId(group.id), RaterId("ann"), room.house.now()));
  };
  const auto give_to = [&](const OpenGroup& group) {
    Json body{{"set", "pb-first-steps"}, {"closes", "2026-09-01T10:00:00Z"}};
    body.update(check);
    return room.ines.post("/api/groups/" + group.id + "/assignments", body);
  };
  const auto alone = open_group(room.ines);
  join(alone);
  CHECK(give_to(alone).code() == "given-before");
  // With Ben it is for Ben; Ann takes it once all the same.
  const auto with_ben = open_group(room.ines);
  join(with_ben);
  student(room.house, with_ben.code, "ben");
  REQUIRE(give_to(with_ben).status == 201);
  const std::string id = room.begin(room.ann).body().at("id");
  room.answer_all(room.ann, id);
  REQUIRE(room.ann.post("/api/sittings/" + id + "/finish").status == 200);
  // From then on the set is for practice, as it was also given.
  const auto again = room.begin(room.ann);
  REQUIRE(again.status == 201);
  CHECK(room.ann.get("/api/sittings/" + again.body().at("id").get<std::string>()).body().at("mode") ==
        "practice");
  // Who was ill is given it again when the first is withdrawn.
  REQUIRE(room.ines.erase(room.at() + "/" + first).status == 200);
  Classroom other;
  const std::string gone = other.give(check).body().at("id");
  REQUIRE(other.ines.erase(other.at() + "/" + gone).status == 200);
  CHECK(other.give(check).status == 201);
  // A demonstration may be taken as often as one likes.
  for (int i = 0; i < 2; ++i) CHECK(other.give({{"set", "pb-demonstration"}, {"attempts", 2}}).status == 201);
}

TEST_CASE("what cannot be given is refused, naming the field") {
  Classroom room;
  const auto field = [&](const Json& more) {
    const auto answer = room.give(more);
    CHECK(answer.status == 422);
    return answer.body().value("/error/field"_json_pointer, "");
  };
  CHECK(field({{"set", "none"}}) == "set");
  CHECK(field({{"set", 7}}) == "set");
  CHECK(field({{"mode", "calibration"}}) == "mode");
  CHECK(field({{"set", "pb-demonstration"}, {"mode", "practice"}}) == "mode");
  CHECK(field({{"attempts", 0}}) == "attempts");
  CHECK(field({{"attempts", 21}}) == "attempts");
  CHECK(field({{"attempts", 2}, {"mode", "skills-check"}}) == "attempts");
  CHECK(field({{"opens", "tomorrow"}}) == "opens");
  CHECK(field({{"closes", "2026-09-01T08:30:00Z"}}) == "closes");
  CHECK(field({{"opens", "2026-08-01T08:00:00Z"}, {"closes", "2026-08-02T08:00:00Z"}}) == "closes");
  CHECK(room.ines.get(room.at()).body().empty());
}

TEST_CASE(
    "only who looks after the group gives sets to it, and the department's lead: each time it is written "
    "down") {
  Classroom room;
  auto otto = another_instructor(room.house, "otto");
  const auto his = open_group(otto);
  const Json body{
      {"set", "pb-first-steps"}, {"opens", "2026-09-01T09:00:00Z"}, {"closes", "2026-09-01T10:00:00Z"}};
  CHECK(otto.post(room.at(), body).status == 404);
  CHECK(otto.get(room.at()).status == 404);
  CHECK(room.ann.post(room.at(), body).status == 403);
  // Ines made the site: she leads the department.
  const auto hers = room.ines.post("/api/groups/" + his.id + "/assignments", body);
  REQUIRE(hers.status == 201);
  // An assignment of another group is none of this one.
  const std::string id = hers.body().at("id");
  CHECK(room.ines.erase(room.at() + "/" + id).status == 404);
  REQUIRE(otto.erase("/api/groups/" + his.id + "/assignments/" + id).status == 200);
  auto store = room.house.store();
  const auto all = store::entries(store, 10);
  REQUIRE(all.size() == 2);
  CHECK(all[0].deed == store::Deed::withdrew);
  CHECK(all[0].actor == RaterId("otto"));
  CHECK(all[1].deed == store::Deed::assigned);
  CHECK(all[1].actor == RaterId("ines"));
  CHECK(all[1].about == "assignment " + id);
}

TEST_CASE("a practice set given as a skills check stays out of learning until the check is over") {
  Classroom room;
  auto ben = student(room.house, open_group(room.ines).code, "ben");
  std::set<std::string> checked;
  for (const auto& entry : shipped_library().sets.at("pb-first-steps").entries)
    checked.insert(entry.case_id.text());
  REQUIRE_FALSE(checked.empty());
  // How many of the set's cases the page of any item shows, with their levels.
  const auto shown_to = [&](Browser& who) {
    std::set<std::string> shown;
    for (const auto& item : shipped_scale().instrument.items) {
      const auto got = who.get("/api/learn/pediatric-balance/" + item.id);
      REQUIRE(got.status == 200);
      for (const auto& id : checked)
        if (got.text.find('"' + id + '"') != std::string::npos) shown.insert(id);
    }
    return shown.size();
  };
  const auto before = shown_to(room.ann);
  REQUIRE(before > 0);

  REQUIRE(room.give({{"mode", "skills-check"}}).status == 201);
  CHECK(shown_to(room.ann) == 0);  // not open yet
  CHECK(shown_to(ben) == before);  // of another group
  room.house.wait(90min);          // 9:30
  CHECK(shown_to(room.ann) == 0);  // open
  room.house.wait(30min);          // 10:00
  CHECK(shown_to(room.ann) == before);
}

TEST_CASE("a set given for practice and a check that was withdrawn keep nothing from learning") {
  Classroom room;
  const std::string path = "/api/learn/pediatric-balance/4";
  const auto before = room.ann.get(path).text;
  REQUIRE(room.give(Json::object()).status == 201);
  CHECK(room.ann.get(path).text == before);
  const std::string id = room.give({{"mode", "skills-check"}}).body().at("id");
  CHECK(room.ann.get(path).text != before);
  REQUIRE(room.ines.erase(room.at() + "/" + id).status == 200);
  CHECK(room.ann.get(path).text == before);
}
