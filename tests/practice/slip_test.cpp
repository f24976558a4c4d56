#include "practice/slip.hpp"

#include <catch2/catch.hpp>

#include "instrument/observe.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::practice;
using namespace evenhand::test;

namespace {

/// The key of trials given as observations, and the answer as the rater wrote it down.
struct Case {
  cases::ItemKey key;
  std::size_t item;

  Case(const std::string& id, const std::vector<std::vector<std::pair<std::string, std::string>>>& trials)
      : item(shipped_item(id)) {
    std::vector<instrument::SeenTrial> seen;
    for (const auto& trial : trials)
      seen.push_back(
          {0, instrument::observe(shipped_scale(), item, trial, instrument::BareNumbers::taken).value()});
    key.reading = instrument::read_item(shipped_scale(), item, seen);
    key.level = key.reading.level;
  }

  std::vector<NamedSlip> named(const std::string& level,
                               const std::vector<std::pair<std::string, std::string>>& seen,
                               std::optional<std::size_t> trial = {}) const {
    const auto& instrument = shipped_scale().instrument;
    Answer answer;
    answer.level = instrument::level_named(instrument.items[item], level);
    answer.trial = trial;
    const auto& observe = instrument.items[item].observe;
    answer.seen.resize(observe.size());
    for (const auto& [name, text] : seen)
      for (std::size_t axis = 0; axis < observe.size(); ++axis)
        if (instrument.observations[observe[axis]].id == name)
          answer.seen[axis] = instrument::read_value(instrument.observations[observe[axis]], text,
                                                     instrument::BareNumbers::taken)
                                  .value();
    return slips_of(shipped_scale(), item, key, answer);
  }

  std::vector<Slip> slips(const std::string& level,
                          const std::vector<std::pair<std::string, std::string>>& seen,
                          std::optional<std::size_t> trial = {}) const {
    std::vector<Slip> kinds;
    for (const auto& slip : named(level, seen, trial)) kinds.push_back(slip.slip);
    return kinds;
  }

  /// What the first slip says.
  std::string says(const std::string& level,
                   const std::vector<std::pair<std::string, std::string>>& seen) const {
    return named(level, seen).at(0).says;
  }
};

using Slips = std::vector<Slip>;

}  // namespace

TEST_CASE("nothing is named when the score is right for the right reason") {
  CHECK(Case("4", {{{"hold", "22"}}}).slips("2", {{"hold", "22.3"}}).empty());
}

TEST_CASE("another time, another fact: saw it wrong") {
  CHECK(Case("4", {{{"hold", "22"}}}).slips("4", {{"hold", "31"}}) == Slips{Slip::saw_it_wrong});
  // Guarding that was only offered, taken for a near-loss.
  CHECK(Case("4", {{{"hold", "32"}}}).slips("3", {{"hold", "32"}, {"near_loss", "some"}}) ==
        Slips{Slip::saw_it_wrong});
}

TEST_CASE("a reading within the watch's error is seen right") {
  CHECK(Case("4", {{{"hold", "22"}}}).slips("2", {{"hold", "22.6"}}).empty());
  CHECK(Case("4", {{{"hold", "22"}}}).slips("2", {{"hold", "22.7"}}) == Slips{Slip::saw_it_wrong});
}

TEST_CASE("a fact that decides nothing is no slip") {
  CHECK(Case("4", {{{"hold", "22"}}}).slips("2", {{"hold", "22"}, {"guard", "hands-up"}}).empty());
  // A near-loss costs a level at 30 s, and nothing at 22 s.
  CHECK(Case("4", {{{"hold", "22"}}}).slips("2", {{"hold", "22"}, {"near_loss", "some"}}).empty());
}

TEST_CASE("right observations, another level: read the rule wrong") {
  CHECK(Case("4", {{{"hold", "22"}}}).slips("3", {{"hold", "22"}}) == Slips{Slip::read_the_rule_wrong});
}

TEST_CASE("the first trial scored where a later one counts: wrong trial") {
  const Case two("4", {{{"hold", "12"}}, {{"hold", "31"}}});
  CHECK(two.slips("1", {{"hold", "12"}}, 0) == Slips{Slip::wrong_trial});
  // Not said, but what was written down fits the first trial.
  CHECK(two.slips("1", {{"hold", "12"}}) == Slips{Slip::wrong_trial});
}

TEST_CASE("two slips that cancel are a warning") {
  // From 12 s at the third try follows 1; 2 was given, which the true 22 s are.
  CHECK(Case("4", {{{"hold", "22"}}}).slips("2", {{"hold", "12"}, {"tries", "3"}}) ==
        (Slips{Slip::right_for_wrong_reason, Slip::saw_it_wrong, Slip::read_the_rule_wrong}));
  CHECK(Case("4", {{{"hold", "22"}}}).says("2", {{"hold", "12"}, {"tries", "3"}}) ==
        "The score is right, but not for this reason: two slips cancel.");
}

TEST_CASE(
    "a reading that is right enough, and a score that does not follow from it, are not called two slips") {
  // 14.6 s is within the watch's error of 15.1; the score is that of 15 s.
  const Case one("4", {{{"hold", "15.1"}}});
  REQUIRE(one.key.level);
  const auto level = shipped_scale().instrument.items[one.item].levels[*one.key.level].label;
  CHECK(one.slips(level, {{"hold", "14.6"}}) ==
        (Slips{Slip::right_for_wrong_reason, Slip::read_the_rule_wrong}));
  CHECK(one.says(level, {{"hold", "14.6"}}) ==
        "The score is right, but it does not follow from what you wrote down.");
}

TEST_CASE("a slip says what was seen and what was true") {
  const Case one("4", {{{"hold", "22"}}});
  CHECK(one.says("4", {{"hold", "31"}}) == "Seen otherwise: you saw \"held 31 s\", it was \"held 22 s\".");
  CHECK(one.says("2", {{"hold", "23"}}) ==
        "Seen otherwise: you saw \"held 23 s\", it was \"held 22 s\". The level is the same.");
}

TEST_CASE("slips come in the order in which they are looked for") {
  const Case two("4", {{{"hold", "12"}}, {{"hold", "31"}}});
  // Trial 1 taken for the one that counts, its 12 s read as 20 s, and 20 s scored as 1.
  CHECK(two.slips("1", {{"hold", "20"}}, 0) ==
        (Slips{Slip::wrong_trial, Slip::saw_it_wrong, Slip::read_the_rule_wrong}));
}

TEST_CASE("a length within half a centimeter is seen right") {
  const Case reach("14", {{{"distance", "20 cm"}}, {{"distance", "20 cm"}}, {{"distance", "20 cm"}}});
  CHECK(reach.slips("3", {{"distance", "20.5 cm"}}).empty());
  CHECK(reach.slips("3", {{"distance", "20.6 cm"}}) == Slips{Slip::saw_it_wrong});
}

TEST_CASE("a key that hangs on a ruling is said to, when the score differs") {
  const Case gray("8", {{{"hold", "20"}}});
  REQUIRE(gray.key.gray());
  CHECK(gray.slips("0", {{"hold", "20"}}) == (Slips{Slip::read_the_rule_wrong, Slip::gray_zone}));
  CHECK(gray.named("0", {{"hold", "20"}})[1].says.find("ruling 8-a (the project's own default)") !=
        std::string::npos);
  CHECK(gray.slips("1", {{"hold", "20"}}).empty());
}

TEST_CASE("without a level on both sides there is nothing to name", "[edge]") {
  const Case one("4", {{{"hold", "22"}}});
  Answer none;
  CHECK(slips_of(shipped_scale(), one.item, one.key, none).empty());
  cases::ItemKey refused;
  refused.status = cases::Status::refused;
  Answer some;
  some.level = 0;
  CHECK(slips_of(shipped_scale(), one.item, refused, some).empty());
}
