#include "server/api_spots.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// The text of a case of the program, changed: as a department's own it takes the place of the built-in one.
cases::SourceFile changed_case(const std::string& id, const std::string& from, const std::string& to) {
  for (const auto& file : cases::built_in_files())
    if (file.name.find(id) != std::string::npos && file.text.find("evenhand/case-1") != std::string::npos) {
      auto text = file.text;
      const auto place = text.find(from);
      if (place == std::string::npos) throw std::runtime_error("no " + from);
      return {id + ".yaml", text.replace(place, from.size(), to)};
    }
  throw std::runtime_error("no case " + id);
}

}  // namespace

TEST_CASE("the levels of an item stand side by side, each with a trial that the engine gives that level") {
  Site site;
  for (const auto& item : balance().instrument.items) {
    const auto got = site.get("ann", "/api/learn/pediatric-balance/" + item.id);
    REQUIRE(got.status == 200);
    REQUIRE(got.body.at("levels").size() == item.levels.size());
    const std::size_t place = *instrument::item_named(balance().instrument, item.id);
    for (std::size_t level = 0; level < item.levels.size(); ++level) {
      INFO("item " << item.id << ", level " << item.levels[level].label);
      const auto& one = got.body.at("levels")[level];
      CHECK(one.at("value") == item.levels[level].label);
      CHECK(one.at("says") == item.levels[level].says);
      if (one.at("example").is_null()) continue;
      // Found again in the library by what it shows, and read again.
      const auto& of = shipped_library().cases.at(one.at("example").at("case"));
      bool found = false;
      for (const auto& trial : of.items[place].trials) {
        if (trial.timed() == one.at("example").at("trial").at("timeline").is_null()) continue;
        if (!trial.timed() && one.at("example").at("trial").at("written") != trial.written) continue;
        if (trial.timed() && trial.timeline.size() != one.at("example").at("trial").at("timeline").size())
          continue;
        const auto facts = cases::facts_of(trial, balance().instrument, item);
        const auto seen = instrument::complete(balance(), place, facts.values);
        REQUIRE(seen);
        found = found || instrument::read_trial(balance(), place, seen->values).level == level;
      }
      CHECK(found);
    }
  }
}

TEST_CASE("timed items are shown as timed trials where the library has them") {
  Site site;
  std::size_t timed = 0, of = 0;
  for (const std::string item : {"4", "5", "6", "7"}) {
    const auto got = site.get("ann", "/api/learn/pediatric-balance/" + item);
    for (const auto& level : got.body.at("levels"))
      if (!level.at("example").is_null()) {
        ++of;
        timed += level.at("example").at("trial").at("timeline").is_array();
      }
  }
  CHECK(of >= 15);
  CHECK(timed >= of - 2);
}

TEST_CASE("pairs name the higher one and the fact that makes it so, the same way for the same seed") {
  Site site;
  const auto got = site.get("ann", "/api/learn/pediatric-balance/4?seed=5");
  CHECK(site.get("ann", "/api/learn/pediatric-balance/4?seed=5").body == got.body);
  CHECK(site.get("ann", "/api/learn/pediatric-balance/4?seed=6").body != got.body);
  REQUIRE(got.body.at("pairs").size() >= 2);
  for (const auto& pair : got.body.at("pairs")) {
    const std::string higher = pair.at("higher"), fact = pair.at("fact");
    CHECK(fact.starts_with(higher == "same" ? "Both are level " : "Level "));
    CHECK(pair.at("a").at("case") != pair.at("b").at("case"));
    CHECK(pair.at("by").empty() == (higher == "same"));
    for (const std::string by : pair.at("by")) CHECK(instrument::observation_named(balance().instrument, by));
  }
}

TEST_CASE("what a skills check that decides is made of is never shown while learning") {
  const auto lark = changed_case("pb-lark", "reviewed_by: 0", "reviewed_by: 2");
  const cases::SourceFile check{"check.yaml",
                                "format: evenhand/set-1\nid: check\ntitle: Check\nmode: skills-check\n"
                                "entries: [{case: pb-lark, items: [\"1\"]}]\n"};
  const auto library = library_with({lark, check});
  Site with(library), without;
  bool shown_before = false;
  for (const auto& item : balance().instrument.items)
    for (const std::string seed : {"0", "1", "2", "3", "4"}) {
      const auto path = "/api/learn/pediatric-balance/" + item.id + "?seed=" + seed;
      CHECK(with.get("ann", path).body.dump().find("pb-lark") == std::string::npos);
      shown_before =
          shown_before || without.get("ann", path).body.dump().find("pb-lark") != std::string::npos;
    }
  CHECK(shown_before);
}

TEST_CASE("what cannot be learned is refused", "[edge]") {
  Site site;
  CHECK(site.get("ann", "/api/learn/none/4").status == 404);
  CHECK(site.get("ann", "/api/learn/pediatric-balance/99").status == 404);
  CHECK(site.get("ann", "/api/learn/pediatric-balance/4?seed=x").field() == "seed");
}
