// Rounds on the site: who may open, see and settle them.

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "store/groups.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

namespace {

Json round_for(const std::vector<std::string>& groups, const Json& more = Json::object()) {
  Json body{{"title", "Spring"}, {"set", "pb-round-demonstration"}, {"groups", groups}};
  body.update(more);
  return body;
}

/// Scores everything of a sitting with one level.
void score_all(Browser& rater, const std::string& sitting, const std::string& level = "3") {
  const auto steps = rater.get("/api/sittings/" + sitting).body().at("steps");
  for (const auto& step : steps)
    REQUIRE(rater
                .put("/api/sittings/" + sitting + "/answers/" + std::string(step.at("case")) + "/" +
                         std::string(step.at("item")) + "/1",
                     {{"trial", nullptr},
                      {"status", "observed"},
                      {"value", level},
                      {"observations", Json::object()},
                      {"stopwatch", Json::array()},
                      {"sureness", nullptr}})
                .status == 200);
}

}  // namespace

TEST_CASE("a round goes from open to locked, and its raters see the reasons when it closes") {
  House house({}, shipped_library());
  auto ines = instructor(house);  // the lead
  const auto group = open_group(ines), other = open_group(ines);
  auto ann = student(house, group.code, "ann");
  auto ben = student(house, other.code, "ben");
  CHECK(ann.post("/api/sittings", {{"set", "pb-round-demonstration"}}).status == 409);
  const auto made = ines.post("/api/rounds", round_for({group.id}, {{"closes", "2026-09-20T16:00:00Z"}}));
  REQUIRE(made.status == 201);
  const std::string at = "/api/rounds/" + std::string(made.body().at("id"));
  CHECK(made.body().at("raters") == 1);

  // Only who is invited.
  CHECK(ben.get("/api/my-rounds").body().empty());
  CHECK(ben.post("/api/sittings", {{"set", "pb-round-demonstration"}}).status == 409);
  CHECK(ann.get("/api/my-rounds").body().at(0).at("open") == true);
  const std::string sitting = ann.post("/api/sittings", {{"set", "pb-round-demonstration"}}).body().at("id");
  score_all(ann, sitting);
  CHECK(ann.post("/api/sittings/" + sitting + "/finish").body().at("summary").is_null());
  CHECK(ann.get("/api/sittings/" + sitting + "/summary").code() == "not-yet");
  CHECK(ann.post("/api/sittings", {{"set", "pb-round-demonstration"}}).status == 409);
  const auto seen = ines.get(at).body();
  CHECK(seen.at("done") == 1);
  CHECK(seen.at("takers") == Json::array({{{"rater", "ann"},
                                           {"answered", 84},
                                           {"imported", false},
                                           {"finished", "2026-09-01T08:00:00Z"},
                                           {"done", true}}}));
  CHECK(ines.post(at + "/lock").status == 409);
  CHECK(ines.post(at + "/close").body().at("state") == "closed");
  CHECK(ann.get("/api/sittings/" + sitting + "/summary").status == 200);
  CHECK(ines.post(at + "/reopen").body().at("state") == "open");
  CHECK(ann.get("/api/sittings/" + sitting + "/summary").code() == "not-yet");
  REQUIRE(ines.post(at + "/close").status == 200);
  const auto locked = ines.post(at + "/lock").body();
  CHECK(locked.at("state") == "locked");
  CHECK(locked.at("as_locked") == true);
  CHECK(ines.post(at + "/reopen").status == 409);
  // Whoever is erased takes their scores along, and the fingerprint tells.
  REQUIRE(ann.erase("/api/my-data", {{"passphrase", passphrase}}).status == 200);
  CHECK(ines.get(at).body().at("as_locked") == false);
}

TEST_CASE("a round closes by itself, whoever asks first after its time") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  const auto made = ines.post("/api/rounds", round_for({}, {{"closes", "2026-09-01T09:00:00Z"}}));
  REQUIRE(made.status == 201);
  REQUIRE(ann.post("/api/sittings", {{"set", "pb-round-demonstration"}}).status == 201);
  house.wait(61min);
  CHECK(ann.get("/api/my-rounds").body().at(0).at("open") == false);
  CHECK(ines.get("/api/rounds").body().at(0).at("closed") == "2026-09-01T09:00:00Z");
}

TEST_CASE("an instructor opens rounds for own groups, sees own raters only, and settles what they opened") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto"), ola = another_instructor(house, "ola");
  const auto ottos = open_group(otto), olas = open_group(ola);
  auto ann = student(house, ottos.code, "ann");
  auto ben = student(house, olas.code, "ben");
  CHECK(otto.post("/api/rounds", round_for({})).status == 422);
  CHECK(otto.post("/api/rounds", round_for({olas.id})).status == 422);
  CHECK(otto.get("/api/rounds/choices").body().at("groups").size() == 1);
  CHECK(ines.get("/api/rounds/choices").body().at("groups").size() == 2);
  const std::string both = ines.post("/api/rounds", round_for({ottos.id, olas.id})).body().at("id");
  // Ann would score the same children twice.
  const auto twice = otto.post("/api/rounds", round_for({ottos.id}));
  CHECK(twice.status == 422);
  CHECK(twice.body().at("error").at("field") == "set");
  CHECK(twice.text.find("is open on this set for some of the same raters") != std::string::npos);
  REQUIRE(ines.post("/api/rounds/" + both + "/close").status == 200);
  const std::string own = otto.post("/api/rounds", round_for({ottos.id})).body().at("id");
  const auto takers = otto.get("/api/rounds/" + both).body().at("takers");
  REQUIRE(takers.size() == 1);
  CHECK(takers[0].at("rater") == "ann");
  CHECK(ines.get("/api/rounds/" + both).body().at("takers").size() == 2);
  CHECK(ola.get("/api/rounds/" + own).status == 404);
  CHECK(ola.get("/api/rounds").body().size() == 1);
  CHECK(otto.post("/api/rounds/" + both + "/close").status == 403);
  CHECK(otto.post("/api/rounds/" + own + "/close").status == 200);
  CHECK(ines.post("/api/rounds/" + own + "/reopen").status == 200);
  const auto both_again = ines.post("/api/rounds/" + both + "/reopen");
  CHECK(both_again.status == 409);
  CHECK(both_again.text.find("some of the same raters") != std::string::npos);
}

TEST_CASE("two groups may have rounds on one set, and who joins both scores the one after the other") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto"), ola = another_instructor(house, "ola");
  const auto ottos = open_group(otto), olas = open_group(ola);
  auto ann = student(house, ottos.code, "ann");
  const auto first = otto.post("/api/rounds", round_for({ottos.id}));
  house.wait(1min);
  const auto second = ola.post("/api/rounds", round_for({olas.id}));
  REQUIRE(first.status == 201);
  REQUIRE(second.status == 201);
  // One of both groups is everybody's business.
  CHECK(ines.post("/api/rounds", round_for({})).status == 422);
  auto store = house.store();
  REQUIRE(store::join_group(store, GroupId(olas.id), RaterId("ann"), house.now()));
  const auto begin = [&] {
    const auto begun = ann.post("/api/sittings", {{"set", "pb-round-demonstration"}});
    REQUIRE(begun.status < 300);
    return store.sitting(SittingId(begun.body().at("id").get<std::string>())).value();
  };
  const auto one = begin();
  CHECK(one.round == RoundId(first.body().at("id").get<std::string>()));
  CHECK(begin().id == one.id);
  REQUIRE(store.finish_sitting(one.id, house.now()));
  const auto other = begin();
  CHECK(other.round == RoundId(second.body().at("id").get<std::string>()));
  REQUIRE(store.finish_sitting(other.id, house.now()));
  CHECK(ann.post("/api/sittings", {{"set", "pb-round-demonstration"}}).status == 409);
}

TEST_CASE("what cannot be a round is refused, and says which field it is") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto field = [&](const Json& body) {
    const auto answer = ines.post("/api/rounds", body);
    CHECK(answer.status == 422);
    return answer.body().value("/error/field"_json_pointer, "");
  };
  CHECK(field(Json::object()) == "title");
  CHECK(field(round_for({}, {{"set", "pb-support"}})) == "set");
  CHECK(field(round_for({}, {{"set", "none"}})) == "set");
  CHECK(field(round_for({}, {{"closes", "2026-08-01T09:00:00Z"}})) == "closes");
  CHECK(field(round_for({}, {{"closes", "soon"}})) == "closes");
  CHECK(field(round_for({"none"})) == "groups");
  CHECK(field(round_for({}, {{"groups", 3}})) == "groups");
  CHECK(ines.get("/api/rounds").body().empty());
}
