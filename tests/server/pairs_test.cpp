// Live pairs on the site: each hands in alone, and sees the other's only when both did and named each other.

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

const std::string at = "/api/pairs";

Json answer(const std::string& value, const Json& observations = Json::object(),
            const Json& stopwatch = Json::array()) {
  return {{"trial", 1},
          {"status", "observed"},
          {"value", value},
          {"observations", observations},
          {"stopwatch", stopwatch},
          {"sureness", nullptr}};
}

Json part(const std::string& partner, const Json& answers, const Json& more = Json::object()) {
  Json body{{"code", "reed-7"},   {"date", "2026-01-01"}, {"instrument", "pediatric-balance"},
            {"partner", partner}, {"consent", true},      {"answers", answers}};
  body.update(more);
  return body;
}

struct Raters {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  OpenGroup group = open_group(ines);
  Browser ann = student(house, group.code, "ann");
  Browser ben = student(house, group.code, "ben");
  Browser cid = student(house, group.code, "cid");
  std::string pair = at + "/pair-reed-7-2026-01-01";
};

}  // namespace

TEST_CASE("both hand in alone, and then see item by item where they differ and what each wrote down") {
  Raters raters;
  const Json watch = {{{"trial", 1},
                       {"seconds", 31.5},
                       {"form", "live"},
                       {"start", nullptr},
                       {"stop", nullptr},
                       {"sound", true}}};
  const auto first =
      raters.ann.post(at, part("ben", {{"4", answer("4", {{"hold", "31.5 s"}}, watch)}, {"9", answer("2")}}));
  INFO(first.text);
  REQUIRE(first.status == 201);
  CHECK(first.body().at("case") == "pair-reed-7-2026-01-01");
  CHECK(first.body().at("both") == false);
  CHECK(raters.ann.get(raters.pair).body().at("items").is_null());
  CHECK(raters.ben.get(raters.pair).status == 404);  // nothing before one's own is in

  REQUIRE(
      raters.ben
          .post(at, part("ann",
                         {{"4", answer("2", {{"hold", "30.9 s"}})}, {"9", answer("2")}, {"10", answer("1")}}))
          .status == 201);
  const auto seen = raters.ben.get(raters.pair).body();
  CHECK(seen.at("both") == true);
  REQUIRE(seen.at("items").size() == 3);
  const auto four = seen.at("items")[0];
  CHECK(four.at("item") == "4");
  CHECK(four.at("apart") == -2);
  CHECK(four.at("same") == false);
  CHECK(four.at("mine").at("value") == "2");
  CHECK(four.at("mine").at("own_level") == "4");
  CHECK(four.at("theirs").at("value") == "4");
  CHECK(four.at("theirs").at("seconds") == 31.5);
  CHECK(four.at("theirs").at("observations").at("hold") == "31.5 s");
  CHECK(seen.at("items")[1].at("same") == true);
  CHECK(seen.at("items")[2].at("theirs").is_null());
  CHECK(seen.at("items")[2].at("apart").is_null());
  CHECK(raters.ann.get(raters.pair).body().at("items")[0].at("apart") == 2);
}

TEST_CASE("whoever is not of the pair is shown nothing: a third rater, an instructor, a lead") {
  Raters raters;
  REQUIRE(raters.ann.post(at, part("ben", {{"4", answer("4")}})).status == 201);
  REQUIRE(raters.ben.post(at, part("ann", {{"4", answer("3")}})).status == 201);
  auto otto = another_instructor(raters.house, "otto");
  for (auto* who : {&raters.cid, &raters.ines, &otto}) {
    CHECK(who->get(raters.pair).status == 404);
    CHECK(who->get(at).body().at("parts").empty());
  }
  // Not by handing in something for the same child, either.
  REQUIRE(raters.cid.post(at, part("ann", {{"4", answer("1")}})).status == 201);
  const auto seen = raters.cid.get(raters.pair).body();
  CHECK(seen.at("both") == false);
  CHECK(seen.at("items").is_null());
}

TEST_CASE("the scores are in the store under a case of their own, without a key, and decide about nobody") {
  Raters raters;
  REQUIRE(raters.ann.post(at, part("ben", {{"4", answer("4")}})).status == 201);
  auto store = raters.house.store();
  const auto table = store.scores({.rater = RaterId("ann")}).value();
  REQUIRE(table.size() == 1);
  CHECK(table.score(0).scored_case == CaseId("pair-reed-7-2026-01-01"));
  CHECK(table.score(0).value == "4");
  const auto board = raters.ines.get("/api/groups/" + raters.group.id + "/board").body();
  CHECK(board.dump().find("pair-reed") == std::string::npos);
}

TEST_CASE("what is handed in stands, and what makes no pair is refused at its field", "[edge]") {
  Raters raters;
  const Json one{{"4", answer("4")}};
  const auto field = [&](const Json& body) {
    const auto got = raters.ann.post(at, body);
    INFO(got.text);
    CHECK(got.status == 422);
    return std::string(got.body().at("error").at("field"));
  };
  CHECK(field(part("ben", one, {{"code", "Mary Smith"}})) == "code");
  CHECK(field(part("ben", one, {{"date", "2026-13-01"}})) == "date");
  CHECK(field(part("ben", one, {{"date", "2999-01-01"}})) == "date");
  CHECK(field(part("ben", one, {{"instrument", "none"}})) == "instrument");
  CHECK(field(part("ben", one, {{"consent", false}})) == "consent");
  CHECK(field(part("ann", one)) == "partner");
  CHECK(field(part("zoe", one)) == "partner");
  CHECK(field(part("ben", Json::object())) == "answers");
  CHECK(field(part("ben", {{"99", answer("4")}})) == "answers.99");
  CHECK(field(part("ben", {{"4", answer("7")}})) == "answers.4");
  REQUIRE(raters.ann.post(at, part("ben", one)).status == 201);
  CHECK(raters.ann.post(at, part("ben", one)).status == 409);
  CHECK(raters.ann.post(at, part("ben", {{"4", answer("3")}})).status == 409);
  CHECK(raters.ann.post(at, part("ben", {{"4", answer("3")}})).code() == "handed-in");
  CHECK(raters.ann.get(at).body().at("parts").size() == 1);
}

TEST_CASE("scores that came from a file before a live pair are named as such, not as handed in", "[edge]") {
  Raters raters;
  scores::Score score;
  score.rater = RaterId("ann");
  score.scored_case = CaseId("pair-reed-7-2026-01-01");
  score.item = ItemId("4");
  score.value = "3";
  auto store = raters.house.store();
  REQUIRE(store.import_scores(scores::table_of(std::vector{score}).value(),
                              {.name = "paper.csv", .file_fingerprint = "f"}, raters.house.now()));
  const auto refused = raters.ann.post(at, part("ben", {{"4", answer("4")}}));
  CHECK(refused.status == 409);
  CHECK(refused.code() == "scored");
  CHECK(refused.text.find("handed in") == std::string::npos);
  CHECK(raters.ann.get(at).body().at("parts").empty());
}

TEST_CASE("whoever did nothing but a live pair has a page, and nothing is decided") {
  Raters raters;
  REQUIRE(raters.ann.post(at, part("ben", {{"4", answer("4")}})).status == 201);
  const auto page = raters.ines.get("/api/groups/" + raters.group.id + "/raters/ann");
  INFO(page.text);
  REQUIRE(page.status == 200);
  CHECK(page.body().at("checks").is_null());
  CHECK(page.body().at("no_checks").is_null());
  CHECK(raters.ines.get("/api/groups/" + raters.group.id + "/raters/ann/report").code() == "no-checks");
}
