#include "document/yaml.hpp"
#include "server/api_spots.hpp"
#include "store/composed_sets.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// Scores every item of a set alike, or as `score` says, and hands it in.
template <class Score>
std::string take(Site& site, const std::string& rater, const std::string& set, Score score,
                 std::optional<double> sureness = {}) {
  const auto id = site.sit(rater, set);
  const auto sitting = site.get(rater, "/api/sittings/" + id).body;
  for (const auto& step : sitting.at("steps")) {
    auto body = given(
        score(step.at("case").template get<std::string>(), step.at("item").template get<std::string>()));
    if (sureness) body["sureness"] = *sureness;
    REQUIRE(site.put(rater, Site::at(id, step.at("case"), step.at("item")), body).status == 200);
  }
  REQUIRE(site.post(rater, "/api/sittings/" + id + "/finish").status == 200);
  return id;
}

/// The key of an item of a case.
std::string key_of(const std::string& case_id, const std::string& item) {
  for (const auto& spot : spots())
    if (spot.case_id == case_id && spot.item == item) return label(spot, *spot.key.level);
  throw std::runtime_error("no such item");
}

std::string right(const std::string& case_id, const std::string& item) { return key_of(case_id, item); }

/// Item 1 one level off, the rest right.
std::string wrong_at_1(const std::string& case_id, const std::string& item) {
  const auto key = key_of(case_id, item);
  if (item != "1") return key;
  return key == "0" ? "1" : std::string(1, static_cast<char>(key[0] - 1));
}

}  // namespace

TEST_CASE("nothing yet: no sittings, nothing to work on, and the rule all the same") {
  Site site;
  const auto got = site.get("ann", "/api/progress");
  REQUIRE(got.status == 200);
  CHECK(got.body.at("sittings").empty());
  CHECK(got.body.at("next").is_null());
  CHECK(got.body.at("rule").get<std::string>().find("last five sittings") != std::string::npos);
}

TEST_CASE("a score of long ago that fits no item by now keeps nobody from handing in") {
  Site site;
  // Of a set that is gone, under criteria that had more levels.
  store::Sitting old;
  old.id = SittingId("of-long-ago");
  old.rater = RaterId("ann");
  old.set = SetId("gone");
  old.program_version = "0.1.0";
  old.begun = site.now;
  REQUIRE(site.store().begin_sitting(old));
  store::Answer answer;
  answer.scored_case = CaseId("pb-lark");
  answer.item = ItemId("1");
  answer.value = "9";
  answer.at = site.now;
  REQUIRE(site.store().append_answer(old.id, answer));
  const auto id = take(site, "ann", "pb-first-steps", wrong_at_1);
  const auto summary = site.get("ann", "/api/sittings/" + id + "/summary");
  REQUIRE(summary.status == 200);
  CHECK(summary.body.at("scored") == 10);
  CHECK(summary.body.at("next").is_null());
  const auto progress = site.get("ann", "/api/progress");
  REQUIRE(progress.status == 200);
  CHECK(progress.body.at("sittings").size() == 1);
  CHECK(progress.body.at("next").is_null());
  // Where nothing but that is asked for, the reason is said.
  CHECK(site.post("ann", "/api/sittings", {{"next", true}}).says().find("is no score of this item") !=
        std::string::npos);
}

TEST_CASE("a sitting without a miss leaves nothing to work on") {
  Site site;
  take(site, "ann", "pb-first-steps", right, 0.9);
  const auto got = site.get("ann", "/api/progress").body;
  REQUIRE(got.at("sittings").size() == 1);
  const auto& one = got.at("sittings")[0];
  CHECK(one.at("right") == one.at("scored"));
  CHECK(one.at("share") == 1.0);
  CHECK(one.at("lower").get<double>() > 0.0);
  CHECK(one.at("lower").get<double>() < 1.0);
  CHECK(one.at("upper") == 1.0);
  CHECK(one.at("mean_error") == 0.0);
  CHECK(one.at("caution").get<std::string>().find("3 cases") != std::string::npos);
  CHECK(got.at("next").is_null());
  CHECK(got.at("sureness")[4].at("n") == one.at("scored"));
  CHECK(got.at("sureness")[4].at("right") == one.at("scored"));
  CHECK(site.get("ben", "/api/progress").body.at("sittings").empty());
}

TEST_CASE("the weak item is found, and a set is put together for it") {
  Site site;
  const auto first = take(site, "ann", "pb-first-steps", wrong_at_1, 0.1);
  const auto summary = site.get("ann", "/api/sittings/" + first + "/summary").body;
  CHECK(summary.at("work_on")[0].at("item") == "1");
  CHECK(summary.at("next").at("items") == Json{"1"});
  CHECK(summary.at("next").at("why") ==
        "Item 1 cost 2 levels: 2 where the key is 3 and 3 where the key is 4.");
  const auto progress = site.get("ann", "/api/progress").body;
  CHECK(progress.at("next") == summary.at("next"));
  CHECK(progress.at("items")[0].at("cost") == 2);  // items of two cases, a level each
  CHECK(progress.at("sureness")[0].at("n") == 10);
  CHECK(progress.at("sureness")[0].at("right") == 8);

  const auto begun = site.post("ann", "/api/sittings", {{"next", true}, {"seed", 3}});
  REQUIRE(begun.status == 201);
  const std::string id = begun.body.at("id");
  const auto sitting = site.get("ann", "/api/sittings/" + id).body;
  CHECK(sitting.at("mode") == "practice");
  REQUIRE(sitting.at("steps").size() >= 1);
  CHECK(sitting.at("steps").size() <= 3);
  const std::set<std::string> met{"pb-lark", "pb-otter", "pb-ibis"};
  for (const auto& step : sitting.at("steps")) {
    CHECK(step.at("item") == "1");
    CHECK_FALSE(met.contains(step.at("case")));
  }
  // It is resumed while it is open, whoever asks for the next one.
  const auto again = site.post("ann", "/api/sittings", {{"next", true}});
  CHECK(again.status == 200);
  CHECK(again.body.at("id") == id);
  // And stands among the sets of this rater only.
  const std::string set = sitting.at("set").at("id");
  CHECK(site.get("ann", "/api/sets").body.dump().find(set) != std::string::npos);
  CHECK(site.get("ben", "/api/sets").body.dump().find(set) == std::string::npos);
  for (const auto& step : sitting.at("steps"))
    REQUIRE(site.put("ann", Site::at(id, step.at("case"), step.at("item")), given("2")).status == 200);
  CHECK(site.post("ann", "/api/sittings/" + id + "/finish").status == 200);
}

TEST_CASE("the same scores and the same seed give the same set") {
  std::set<std::string> sets;
  for (const int seed : {4, 4, 9}) {
    Site site;
    take(site, "ann", "pb-all", wrong_at_1);
    const auto id = site.post("ann", "/api/sittings", {{"next", true}, {"seed", seed}}).body.at("id");
    const auto set = site.get("ann", "/api/sittings/" + id.get<std::string>()).body.at("set").at("id");
    sets.insert(set);
    const auto text = store::set_text(site.store(), SetId(set.get<std::string>()));
    REQUIRE(text);
    document::Faults faults;
    REQUIRE(document::read_yaml(*text, "set", faults));
    CHECK(faults.empty());
    CHECK(text->find("mode: practice") != std::string::npos);
  }
  CHECK(sets.size() == 2);
}

TEST_CASE("the set put together for one rater cannot be taken by another") {
  Site site;
  take(site, "ann", "pb-first-steps", wrong_at_1);
  const auto id = site.post("ann", "/api/sittings", {{"next", true}}).body.at("id").get<std::string>();
  const auto set = site.get("ann", "/api/sittings/" + id).body.at("set").at("id").get<std::string>();
  CHECK(site.post("ben", "/api/sittings", {{"set", set}}).status == 404);
}
