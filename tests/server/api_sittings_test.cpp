#include "server/api_support.hpp"

using namespace evenhand;
using namespace evenhand::test;

TEST_CASE("a sitting goes from its first item to its summary") {
  Site site;
  const auto begun = site.post("ann", "/api/sittings", {{"set", "pb-first-steps"}});
  REQUIRE(begun.status == 201);
  const std::string id = begun.body.at("id");
  auto sitting = site.get("ann", "/api/sittings/" + id);
  REQUIRE(sitting.status == 200);
  CHECK(sitting.body.at("mode") == "practice");
  CHECK(sitting.body.at("set").at("title") == "First steps on the Pediatric Balance Scale");
  CHECK(sitting.body.at("next") == 0);
  REQUIRE(sitting.body.at("steps").size() == 10);
  CHECK(sitting.body.at("steps")[0].at("case") == "pb-lark");

  const auto early = site.post("ann", "/api/sittings/" + id + "/finish");
  CHECK(early.status == 409);
  CHECK(early.code() == "unanswered");
  CHECK(site.get("ann", "/api/sittings/" + id + "/summary").code() == "not-finished");

  for (const auto& step : sitting.body.at("steps")) {
    const auto saved = site.put("ann", Site::at(id, step.at("case"), step.at("item")), given("4"));
    INFO(saved.body.dump());
    REQUIRE(saved.status == 200);
    CHECK(saved.body.at("saved") == true);
    CHECK(saved.body.at("feedback").at("yours").at("value") == "4");
  }
  sitting = site.get("ann", "/api/sittings/" + id);
  CHECK(sitting.body.at("next").is_null());
  CHECK(sitting.body.at("answers").size() == 10);
  const auto done = site.post("ann", "/api/sittings/" + id + "/finish");
  REQUIRE(done.status == 200);
  CHECK(done.body.at("summary").at("scored") == 10);
  std::size_t agreed = 0;
  for (const auto& item : done.body.at("summary").at("items")) {
    const auto told =
        site.get("ann", "/api/sittings/" + id + "/feedback/" + item.at("case").get<std::string>() + "/" +
                            item.at("item").get<std::string>());
    CHECK(item.at("key") == told.body.at("key").at("value"));
    CHECK(item.at("agrees") == told.body.at("agrees"));
    agreed += item.at("agrees").get<bool>();
  }
  CHECK(agreed == done.body.at("summary").at("right"));
  CHECK(site.get("ann", "/api/sittings/" + id + "/summary").body == done.body.at("summary"));
  CHECK(site.get("ann", "/api/sittings/" + id).body.at("finished").is_string());
}

TEST_CASE("an open sitting is resumed where it stopped") {
  Site site;
  const auto id = site.sit("ann", "pb-first-steps");
  REQUIRE(site.put("ann", Site::at(id, "pb-lark", "1"), given("4")).status == 200);
  const auto again = site.post("ann", "/api/sittings", {{"set", "pb-first-steps"}});
  CHECK(again.status == 200);
  CHECK(again.body.at("id") == id);
  CHECK(site.get("ann", "/api/sittings/" + id).body.at("next") == 1);
  CHECK(site.sit("ben", "pb-first-steps") != id);
}

TEST_CASE("items of a case come in any order, cases one after the other") {
  Site site;
  const auto id = site.sit("ann", "pb-first-steps");
  CHECK(site.put("ann", Site::at(id, "pb-otter", "2"), given("4")).code() == "not-its-turn");
  REQUIRE(site.put("ann", Site::at(id, "pb-lark", "9"), given("4")).status == 200);
  CHECK(site.get("ann", "/api/sittings/" + id).body.at("next") == 0);
  for (const std::string item : {"1", "2", "6"})
    REQUIRE(site.put("ann", Site::at(id, "pb-lark", item), given("4")).status == 200);
  CHECK(site.put("ann", Site::at(id, "pb-otter", "12"), given("4")).status == 200);
}

namespace {

/// A calibration of two items of one case.
cases::SourceFile two_items() {
  return {"two.yaml",
          "format: evenhand/set-1\nid: two\ntitle: Two items\nmode: calibration\ndemonstration: yes\n"
          "entries: [{case: pb-lark, items: [\"1\", \"2\"]}]\n"};
}

/// What /api/sets says of one set.
Json set_named(const Json& sets, const std::string& id) {
  for (const auto& set : sets)
    if (set.at("id") == id) return set;
  throw std::runtime_error("no set " + id);
}

}  // namespace

TEST_CASE("what was left open in a round that closed is handed in as it is") {
  const auto library = library_with({two_items()});
  Site site(library);
  REQUIRE(store::add_round(site.store(), {RoundId("fall"), "Fall", SetId("two"), site.now, {}}));
  const auto id = site.sit("ann", "two");
  REQUIRE(site.put("ann", Site::at(id, "pb-lark", "1"), given("4")).status == 200);
  CHECK(site.post("ann", "/api/sittings/" + id + "/finish").code() == "unanswered");
  REQUIRE(store::close_round(site.store(), RoundId("fall"), site.now));
  CHECK(site.put("ann", Site::at(id, "pb-lark", "2"), given("4")).status == 409);
  const auto done = site.post("ann", "/api/sittings/" + id + "/finish");
  REQUIRE(done.status == 200);
  CHECK(done.body.at("summary").at("scored") == 1);
  CHECK(site.get("ann", "/api/sittings/" + id).body.at("finished").is_string());
}

TEST_CASE("of several open sittings at a set the latest is named, and none whose round is closed") {
  const auto library = library_with({two_items()});
  Site site(library);
  const auto named = [&] { return set_named(site.get("ann", "/api/sets").body, "two").at("open_sitting"); };
  REQUIRE(store::add_round(site.store(), {RoundId("fall"), "Fall", SetId("two"), site.now, {}}));
  const auto fall = site.sit("ann", "two");
  CHECK(named() == fall);
  REQUIRE(store::add_round(site.store(), {RoundId("spring"), "Spring", SetId("two"), site.now, {}}));
  CHECK(site.sit("ann", "two") == fall);  // not handed in yet
  REQUIRE(store::close_round(site.store(), RoundId("fall"), site.now));
  const auto spring = site.sit("ann", "two");
  REQUIRE(spring != fall);
  REQUIRE(store::reopen_round(site.store(), RoundId("fall")));
  CHECK(named() == spring);
  REQUIRE(store::close_round(site.store(), RoundId("spring"), site.now));
  CHECK(named() == fall);
  REQUIRE(store::close_round(site.store(), RoundId("fall"), site.now));
  CHECK(named().is_null());
}

TEST_CASE("finishing twice is finishing once") {
  Site site;
  const auto id = site.sit("ann", "pb-first-steps");
  const auto sitting = site.get("ann", "/api/sittings/" + id);
  for (const auto& step : sitting.body.at("steps"))
    REQUIRE(site.put("ann", Site::at(id, step.at("case"), step.at("item")), given("3")).status == 200);
  const auto first = site.post("ann", "/api/sittings/" + id + "/finish");
  const auto at = site.store().sitting(SittingId(id))->finished;
  const auto second = site.post("ann", "/api/sittings/" + id + "/finish");
  CHECK(second.status == 200);
  CHECK(second.body == first.body);
  CHECK(site.store().sitting(SittingId(id))->finished == at);
  CHECK(site.sit("ann", "pb-first-steps") != id);  // a new one
  const auto set = set_named(site.get("ann", "/api/sets").body, "pb-first-steps");
  CHECK(set.at("done") == Json{id});
  CHECK(set.at("open_sitting").is_string());
}

TEST_CASE("the sitting of another is as unknown as one that never was") {
  Site site;
  const auto id = site.sit("ann", "pb-first-steps");
  REQUIRE(site.put("ann", Site::at(id, "pb-lark", "1"), given("4")).status == 200);
  for (const std::string& one : {id, std::string("never-was")}) {
    const std::string base = "/api/sittings/" + one;
    std::vector<Site::Answer> answers{site.get("ben", base),
                                      site.get("ben", base + "/cases/pb-lark"),
                                      site.get("ben", base + "/summary"),
                                      site.get("ben", base + "/feedback/pb-lark/1"),
                                      site.post("ben", base + "/finish"),
                                      site.put("ben", Site::at(one, "pb-lark", "2"), given("4"))};
    for (const auto& answer : answers) {
      CHECK(answer.status == 404);
      CHECK(answer.says() == "You have no such sitting.");
    }
  }
  for (const auto& set : site.get("ben", "/api/sets").body) CHECK(set.at("open_sitting").is_null());
}

TEST_CASE("a case shows no more than can be seen") {
  Site site;
  const auto id = site.sit("ann", "pb-all");
  const std::set<std::string> seen{
      "id",       "child", "code",    "age",      "picture", "setting", "items",    "not_given", "trials",
      "practice", "way",   "written", "timeline", "at",      "poses",   "contacts", "helpers",   "events",
      "says",     "who",   "words",   "text",     "end",     "side",    "toward",   "reach",     "external"};
  for (const auto& [name, one] : shipped_library().cases) {
    const auto got = site.get("ann", "/api/sittings/" + id + "/cases/" + name);
    REQUIRE(got.status == 200);
    std::set<std::string> names;
    names_in(got.body, names);
    CHECK(got.body.at("external").is_null());
    for (const auto& shown : names) {
      INFO(shown);
      CHECK(seen.contains(shown));
    }
    // No criterion stands in it either.
    for (const auto& item : shipped_library().instruments.at("pediatric-balance").in_force->instrument.items)
      for (const auto& level : item.levels) CHECK(got.body.dump().find(level.says) == std::string::npos);
    CHECK(got.body.at("items").size() == 14);
  }
  CHECK(site.get("ann", "/api/sittings/" + id + "/cases/none").code() == "not-in-set");
}

TEST_CASE("neither sets nor a sitting tell a key") {
  Site site;
  const auto id = site.sit("ann", "pb-demonstration");
  REQUIRE(site.put("ann", Site::at(id, "pb-heron", "1"), given("4")).body ==
          Json{{"saved", true}, {"feedback", nullptr}});
  std::set<std::string> names;
  names_in(site.get("ann", "/api/sets").body, names);
  names_in(site.get("ann", "/api/sittings/" + id).body, names);
  const std::set<std::string> told{
      "id",          "title",
      "mode",        "demonstration",
      "instrument",  "cases",
      "items",       "open_sitting",
      "done",                               // sets
      "described",   "described_accepted",  // which trials were read, not watched
      "set",         "begun",
      "finished",    "steps",
      "case",        "item",
      "case_number", "item_number",
      "revision",    "locked",
      "next",        "answers",
      "trial",       "status",
      "value",       "observations",
      "stopwatch",   "sureness",
      "at"};
  for (const auto& name : names) {
    INFO(name);
    CHECK(told.contains(name));
  }
}

TEST_CASE("a sitting gone on with after its case was changed says so") {
  Site site;
  const auto id = site.sit("ann", "pb-first-steps");
  REQUIRE(site.put("ann", Site::at(id, "pb-lark", "1"), given("4")).status == 200);
  const auto path = "/api/sittings/" + id + "/feedback/pb-lark/1";
  CHECK(site.get("ann", path).body.at("notes").empty());
  cases::SourceFile lark;
  for (const auto& file : cases::built_in_files())
    if (file.name.find("pb-lark") != std::string::npos) lark = file;
  const auto setting = lark.text.find("setting: ");
  REQUIRE(setting != std::string::npos);
  lark.text.insert(setting + 9, "Later that day. ");
  lark.name = "pb-lark.yaml";
  const auto changed = library_with({lark});
  site.reopen(changed);
  const auto notes = site.get("ann", path).body.at("notes");
  REQUIRE(notes.size() == 1);
  CHECK(notes[0].get<std::string>().find("has been changed since you answered it") != std::string::npos);
}

TEST_CASE("what cannot be begun is refused", "[edge]") {
  Site site;
  CHECK(site.post("ann", "/api/sittings").field() == "set");
  CHECK(site.post("ann", "/api/sittings", {{"set", 3}}).field() == "set");
  CHECK(site.post("ann", "/api/sittings", {{"set", "no-such-set"}}).status == 404);
  CHECK(site.post("ann", "/api/sittings", {{"set", "pb-all"}, {"seed", -1}}).field() == "seed");
  CHECK(site.call("ann", "POST", "/api/sittings", "nonsense").status == 422);
  CHECK(site.post("ann", "/api/sittings", {{"next", true}}).code() == "nothing-to-work-on");
}

TEST_CASE("of a fact only the values are offered that some performance of the item shows") {
  Site site;
  const auto items = site.get("ann", "/api/instruments/pediatric-balance").body.at("items");
  const auto ended = [&](std::size_t place) {
    return items.at(place).at("possible").at("ended").get<std::vector<std::string>>();
  };
  // As the instrument file has it: what is impossible by itself is left out, and nothing else.
  CHECK(ended(3) == std::vector<std::string>{"time-called", "moved", "touched", "caught"});
  CHECK(ended(5) == std::vector<std::string>{"time-called", "moved", "eyes-opened", "touched", "caught"});
  CHECK_FALSE(items.at(3).at("possible").contains("hold"));
}

TEST_CASE("the instrument is told once, then known by its tag") {
  Site site;
  const auto first = site.get("ann", "/api/instruments/pediatric-balance");
  REQUIRE(first.status == 200);
  CHECK(first.body.at("items").size() == 14);
  CHECK(first.body.at("observations").at("hold").at("kind") == "duration");
  CHECK(first.body.at("statuses").size() == 6);
  const auto again = site.call("ann", "GET", "/api/instruments/pediatric-balance", "",
                               {{"if-none-match", first.headers.at("ETag")}});
  CHECK(again.status == 304);
  CHECK(again.body.is_null());
  CHECK(site.get("ann", "/api/instruments/none").status == 404);
  CHECK(site.get("ann", "/api/poses").body.is_object());
}
