#include "practice/examples.hpp"

#include <algorithm>

#include <catch2/catch.hpp>
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::practice;
using namespace evenhand::test;

namespace {

instrument::TrialReading reading(const std::string& item,
                                 const std::vector<std::pair<std::string, std::string>>& seen) {
  const auto observed =
      instrument::observe(shipped_scale(), shipped_item(item), seen, instrument::BareNumbers::taken);
  REQUIRE(observed);
  return instrument::read_trial(shipped_scale(), shipped_item(item), observed->values);
}

/// The facts by their names.
std::vector<std::string> deciding(const std::string& item, const instrument::TrialReading& better,
                                  const instrument::TrialReading& poorer) {
  std::vector<std::string> names;
  for (const auto axis : deciding_facts(shipped_scale(), shipped_item(item), better, poorer))
    names.push_back(
        shipped_scale()
            .instrument.observations[shipped_scale().instrument.items[shipped_item(item)].observe[axis]]
            .id);
  return names;
}

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("the fact that makes one performance better is found among those that differ") {
  CHECK(deciding("4", reading("4", {{"hold", "31"}}), reading("4", {{"hold", "22"}})) == Names{"hold"});
  CHECK(deciding("4", reading("4", {{"hold", "31"}}),
                 reading("4", {{"hold", "32"}, {"near_loss", "some"}})) == Names{"near_loss"});
  // The guarding differs too, and decides nothing.
  CHECK(deciding("4", reading("4", {{"hold", "31"}}),
                 reading("4", {{"hold", "22"}, {"guard", "hands-up"}})) == Names{"hold"});
}

TEST_CASE("with the deciding facts the poorer one reaches the level of the better one", "[property]") {
  std::size_t pairs = 0;
  for (std::size_t item = 0; item < shipped_scale().instrument.items.size(); ++item) {
    const auto all = examples_of(shipped_library(), shipped_scale(), item);
    for (const auto& a : all)
      for (const auto& b : all) {
        if (a.level >= b.level || ++pairs % 7 != 0) continue;  // places run from the best level down
        auto changed = b.reading.values;
        const auto needed = deciding_facts(shipped_scale(), item, a.reading, b.reading);
        CHECK_FALSE(needed.empty());
        for (const auto axis : needed) changed[axis] = a.reading.values[axis];
        CHECK(instrument::read_trial(shipped_scale(), item, changed).level == a.level);
      }
  }
  CHECK(pairs > 1000);
}

TEST_CASE("each level's example is of that level, settled before gray and clear before borderline") {
  for (std::size_t item = 0; item < shipped_scale().instrument.items.size(); ++item) {
    const auto& of = shipped_scale().instrument.items[item];
    const auto all = examples_of(shipped_library(), shipped_scale(), item);
    for (const std::uint64_t seed : {0U, 1U, 2U}) {
      const auto chosen = example_of_each_level(all, of, seed);
      REQUIRE(chosen.size() == of.levels.size());
      for (std::size_t level = 0; level < chosen.size(); ++level) {
        INFO("item " << of.id << ", level " << of.levels[level].label);
        const bool any = std::ranges::any_of(all, [&](const auto& one) { return one.level == level; });
        REQUIRE(chosen[level].has_value() == any);
        if (!any) continue;
        CHECK(chosen[level]->level == level);
        if (!chosen[level]->settled)
          CHECK(
              std::ranges::none_of(all, [&](const auto& one) { return one.level == level && one.settled; }));
        CHECK_FALSE(chosen[level]->of->items[item].trials[chosen[level]->trial].practice);
      }
    }
  }
}

TEST_CASE("every example says what was seen") {
  for (std::size_t item = 0; item < shipped_scale().instrument.items.size(); ++item)
    for (const auto& one : examples_of(shipped_library(), shipped_scale(), item)) {
      const auto words = why(shipped_scale(), item, one);
      REQUIRE_FALSE(words.empty());
      CHECK(words.front().starts_with("Seen: "));
    }
}

TEST_CASE("pairs are of settled and clear trials, none twice, and the same for the same seed") {
  for (std::size_t item = 0; item < shipped_scale().instrument.items.size(); ++item) {
    const auto all = examples_of(shipped_library(), shipped_scale(), item);
    const auto pairs = pairs_of(shipped_scale(), item, all, 3);
    const auto again = pairs_of(shipped_scale(), item, all, 3);
    INFO("item " << shipped_scale().instrument.items[item].id);
    CHECK(pairs.size() >= 2);
    REQUIRE(pairs.size() == again.size());
    std::vector<std::pair<const cases::Case*, std::size_t>> used;
    for (std::size_t i = 0; i < pairs.size(); ++i) {
      CHECK(pairs[i].fact == again[i].fact);
      for (const Example* one : {&pairs[i].a, &pairs[i].b}) {
        CHECK((one->settled && one->clear));
        used.emplace_back(one->of, one->trial);
      }
      CHECK(pairs[i].a.timed == pairs[i].b.timed);
      CHECK((pairs[i].higher == 0) == (pairs[i].a.level == pairs[i].b.level));
      CHECK((pairs[i].higher == 1) == (pairs[i].a.level < pairs[i].b.level));
    }
    std::ranges::sort(used);
    CHECK(std::ranges::adjacent_find(used) == used.end());
  }
}

TEST_CASE("a pair names every fact that tells, the deciding ones among them, and none at the same level") {
  for (std::size_t item = 0; item < shipped_scale().instrument.items.size(); ++item)
    for (const auto& pair :
         pairs_of(shipped_scale(), item, examples_of(shipped_library(), shipped_scale(), item), 3)) {
      INFO("item " << shipped_scale().instrument.items[item].id << ": " << pair.fact);
      CHECK(pair.by.empty() == (pair.higher == 0));
      if (pair.higher == 0) continue;
      const auto& better = pair.higher == 1 ? pair.a.reading : pair.b.reading;
      const auto& poorer = pair.higher == 1 ? pair.b.reading : pair.a.reading;
      for (const auto axis : deciding_facts(shipped_scale(), item, better, poorer))
        CHECK(std::ranges::count(pair.by, axis) == 1);
      for (const auto axis : pair.by) CHECK(better.values[axis] != poorer.values[axis]);
    }
}

TEST_CASE("a case that decides about somebody is kept from learning, a demonstration keeps none") {
  auto changed = shipped_library();
  const auto before = cases_to_learn_from(changed);
  CHECK(before.contains(CaseId("pb-heron")));  // in the demonstration, and in a practice set
  auto& check = changed.sets["pb-demonstration"];
  check.demonstration = false;
  for (const auto& entry : check.entries) CHECK_FALSE(cases_to_learn_from(changed).contains(entry.case_id));
  check.mode = cases::Mode::calibration;
  CHECK_FALSE(cases_to_learn_from(changed).contains(CaseId("pb-heron")));
}

TEST_CASE("the cases of a practice set that a rater is to be checked with are kept from learning") {
  const auto& library = shipped_library();
  const std::set<SetId> checks{SetId("pb-first-steps")};
  const auto may = cases_to_learn_from(library, checks);
  REQUIRE_FALSE(may.empty());
  for (const auto& entry : library.sets.at("pb-first-steps").entries) {
    CHECK(cases_to_learn_from(library).contains(entry.case_id));
    CHECK_FALSE(may.contains(entry.case_id));
  }
  for (std::size_t item = 0; item < shipped_scale().instrument.items.size(); ++item)
    for (const auto& one : examples_of(library, shipped_scale(), item, checks))
      CHECK(may.contains(one.of->id));
  // A demonstration decides about nobody, however it is given.
  CHECK(cases_to_learn_from(library, {SetId("pb-demonstration")}) == cases_to_learn_from(library));
}
