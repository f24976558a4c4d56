#include "cases/key.hpp"

#include <string>

#include <catch2/catch.hpp>

#include "cases/library.hpp"
#include "cases/small_library.hpp"

using namespace evenhand;
using cases::CaseKey;
using test::small_case;
using test::with;

namespace {

CaseKey key_of(std::string text, std::vector<cases::SourceFile> department = {}) {
  document::Faults faults;
  const auto library = cases::read_library(test::small_files(std::move(text)), department, faults);
  REQUIRE(faults.text() == "");
  return cases::key_of(library.cases.at("owl"), *library.instruments.at("small").in_force);
}

}  // namespace

TEST_CASE("a key follows from the trials, timelines and stated facts alike") {
  const auto key = key_of(small_case());
  REQUIRE(key.items.size() == 3);
  // Item 1: 4 s scores 0, then 12 s with a near-loss scores 1; the best counts.
  CHECK(key.items[0].level == 1);
  CHECK(key.items[0].deciding_trial() == 1);
  CHECK(key.items[0].facts[1].stretches[0].to == 14.0);
  CHECK_FALSE(key.items[0].gray());
  // Item 2: five taps left, nine right; the worse way counts.
  CHECK(key.items[1].level == 1);
  CHECK(key.items[1].deciding_trial() == 0);
  CHECK(key.items[2].level == 0);
  REQUIRE(key.total);
  CHECK(key.total->points == 4.0);  // levels 1, 1 and 2 by label
  CHECK(key.total->complete());
}

TEST_CASE("a practice trial counts for nothing, however good") {
  const auto key =
      key_of(with(small_case(), "      - timeline:\n          - {at: 0.0, pose: standing, helper: near",
                  "      - practice: yes\n        written: She stands through a whole song.\n"
                  "        observed: {hold: 40 s}\n"
                  "      - timeline:\n          - {at: 0.0, pose: standing, helper: near"));
  CHECK(key.items[0].level == 1);
  CHECK(key.items[0].deciding_trial() == 2);
  CHECK(key.items[0].counted == std::vector<std::size_t>{1, 2});
  CHECK(key.items[0].facts.size() == 3);
}

TEST_CASE("the skip rule fills an item that was left to it, and no other") {
  const auto skipped = [](std::string text) {
    return with(
        std::move(text),
        "    key: \"2\"\n    trials:\n      - written: She sits down, folds her hands and hums a whole song "
        "before time is called.\n        observed: {hold: 15 s}\n",
        "    key: skip-rule\n");
  };
  const auto held = key_of(skipped(with(small_case(), "event: near-loss, ", "event: sways, ")));
  CHECK(held.items[0].level == 0);
  CHECK(held.items[2].level == 0);
  CHECK(held.items[2].skip_rule);
  CHECK(held.total->items == 3);

  const auto not_held = key_of(skipped(small_case()));
  CHECK_FALSE(not_held.items[2].level);
  CHECK_FALSE(not_held.items[2].skip_rule);
  CHECK(not_held.items[2].no_key_because == "the item was not tested, and no skip rule fills it");
  CHECK(not_held.total->items == 2);
}

TEST_CASE("a status stands for itself and is no zero") {
  const auto key = key_of(with(small_case(), "  - item: \"3\"\n    key: \"2\"\n",
                               "  - item: \"3\"\n    key: refused\n    why: She runs off.\n"));
  CHECK(key.items[2].status == cases::Status::refused);
  CHECK_FALSE(key.items[2].level);
  CHECK(key.total->points == 2.0);
  CHECK(key.total->maximum == 4.0);
}

TEST_CASE("a department's ruling changes the key in force, and its fingerprint tells") {
  const auto open = with(small_case(), "at: 6.0, event: foot-moves", "at: 8.5, event: foot-moves");
  const auto only_first = with(open, "event: near-loss, ", "event: foot-moves, ");
  const auto by_default = key_of(only_first);  // 6.5 s without a near-loss: ruling 1-a gives level 0
  CHECK(by_default.items[0].level == 2);
  CHECK(by_default.items[0].gray());
  const auto in_force = key_of(only_first, {{"dep/clinic.yaml", R"(format: evenhand/rulings-1
id: clinic
instrument: small
rulings:
  - id: clinic-1
    item: "1"
    date: 2026-09-01
    who: Staff meeting
    why: We are lenient.
    situation: five to ten seconds without a near-loss
    when: [{hold: {at_least: 5 s, under: 10 s}, near_loss: none}]
    level: "1"
)"}});
  CHECK(in_force.items[0].level == 1);
  CHECK(in_force.rulings != by_default.rulings);
}

TEST_CASE("facts that cannot be read leave the item without a key and say why", "[edge]") {
  const auto missing = key_of(with(small_case(), "observed: {hold: 15 s}", "observed: {}"));
  REQUIRE(missing.items[2].unreadable.size() == 1);
  CHECK_FALSE(missing.items[2].level);
  CHECK_THAT(missing.items[2].no_key_because, Catch::Contains("`hold` must be stated"));
  const auto contradiction =
      key_of(with(small_case(), "        observed: {}\n", "        observed: {ended: time-called}\n"));
  CHECK_THAT(contradiction.items[0].no_key_because, Catch::Contains("cannot be seen together"));
}
