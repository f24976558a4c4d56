#include "calibration/key_facts.hpp"

#include <algorithm>

#include <catch2/catch.hpp>

#include "competency/library_cases.hpp"
#include "support/shipped.hpp"

namespace evenhand::calibration {
namespace {

using evenhand::test::shipped_library;
const InstrumentId scale{"pediatric-balance"};

TEST_CASE("what a key rests on goes with what counts toward a decision", "[property]") {
  const auto facts = key_facts_of(shipped_library(), scale).value();
  const auto answer = competency::answer_key_of(shipped_library(), scale).value();
  std::size_t gray = 0, borderline = 0, settled = 0;
  for (const auto& [id, keyed] : answer.cases)
    for (std::size_t item = 0; item < answer.items.size(); ++item) {
      const auto known = facts(id, answer.items[item].id);
      const auto& key = keyed.keys[item];
      INFO(id.text() << ", item " << answer.items[item].id.text());
      if (!known) {
        CHECK(key->decidable != competency::Decidable::yes);
        continue;
      }
      CHECK(is_gray(known->kind) == (key->decidable == competency::Decidable::key_gray));
      CHECK((known->kind == KeyKind::borderline) ==
            (key->decidable == competency::Decidable::key_borderline));
      CHECK(known->zone.empty() != is_gray(known->kind));
      CHECK(known->meet.size() == known->criteria.size());
      CHECK(std::ranges::is_sorted(known->meet));
      CHECK_FALSE(known->reason.empty());
      // The level of the key is one of those that meet.
      if (key->category) CHECK(std::ranges::find(known->meet, *key->category) != known->meet.end());
      gray += is_gray(known->kind) ? 1 : 0;
      borderline += known->kind == KeyKind::borderline ? 1 : 0;
      settled += known->kind == KeyKind::settled ? 1 : 0;
    }
  CHECK(gray > 0);
  CHECK(borderline > 0);
  CHECK(settled > 100);
}

TEST_CASE("case-items of one open place in the criteria share its name", "[reference]") {
  // The library's cases crow, newt, seal, toad and wren lie in the open place of ruling 7-a.
  const auto facts = key_facts_of(shipped_library(), scale).value();
  const auto crow = facts(CaseId("pb-crow"), ItemId("7")), wren = facts(CaseId("pb-wren"), ItemId("7"));
  REQUIRE(crow);
  CHECK(crow->kind == KeyKind::gray);
  CHECK(crow->ruling == "7-a");
  CHECK(crow->zone == wren->zone);
  CHECK(crow->meet.size() == 2);
}

TEST_CASE("facts of what the library does not have are not known", "[edge]") {
  const auto facts = key_facts_of(shipped_library(), scale).value();
  CHECK_FALSE(facts(CaseId("a film of the department"), ItemId("7")));
  CHECK_FALSE(facts(CaseId("pb-crow"), ItemId("99")));
  CHECK(key_facts_of(shipped_library(), InstrumentId("none")).error().code == Errc::not_found);
}

}  // namespace
}  // namespace evenhand::calibration
