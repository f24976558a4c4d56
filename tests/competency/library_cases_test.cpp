#include "competency/library_cases.hpp"

#include <catch2/catch.hpp>

#include "cases/small_library.hpp"
#include "competency/simulated_rater.hpp"

namespace evenhand::competency {
namespace {

cases::Library library_of(std::string case_text) {
  document::Faults faults;
  auto library = cases::read_library(evenhand::test::small_files(std::move(case_text)), {}, faults);
  INFO(faults.text());
  REQUIRE(faults.empty());
  return library;
}

std::string case_with(std::string_view piece, std::string_view replacement) {
  return evenhand::test::with(evenhand::test::small_case(), piece, replacement);
}

const CaseId owl("owl");

}  // namespace

TEST_CASE("keys follow from the trials of the library's cases") {
  const auto key = answer_key_of(library_of(evenhand::test::small_case()), InstrumentId("small")).value();
  REQUIRE(key.items.size() == 3);
  CHECK(key.items[0].categories == std::vector<std::string>{"0", "1", "2"});
  CHECK(key.find(owl, 0)->says == "1");  // the second trial is the better one
  CHECK(key.find(owl, 0)->category == 1);
  CHECK(key.find(owl, 0)->decidable == Decidable::yes);
  CHECK(key.find(owl, 1)->category == 1);  // the worse of two ways
  CHECK(key.find(owl, 2)->category == 2);
  CHECK(key.cases.at(owl).second_readers == 0);
  CHECK_FALSE(key.cases.at(owl).typical);
}

TEST_CASE("keys by a ruling are gray, keys near a threshold borderline") {
  const auto find = [](std::string text, std::size_t item) {
    return *answer_key_of(library_of(std::move(text)), InstrumentId("small")).value().find(owl, item);
  };
  // Without the near-loss, and held 7 s: open, ruled 0 by 1-a.
  auto gray = case_with("          - {at: 7.0, event: near-loss, says: {who: child, words: Oops!}}\n", "");
  gray = evenhand::test::with(gray, "{at: 14.0, event: time-called}", "{at: 9.0, event: foot-moves}");
  CHECK(find(gray, 0).decidable == Decidable::yes);  // the first trial, 4 s, settles the same level
  gray = evenhand::test::with(gray, "{at: 6.0, event: foot-moves}", "{at: 8.0, event: foot-moves}");
  CHECK(find(gray, 0).decidable == Decidable::key_gray);
  CHECK(find(gray, 0).says == "0");
  CHECK(find(case_with("hold: 15 s", "hold: 9.7 s"), 2).decidable == Decidable::key_borderline);
  CHECK(find(case_with("hold: 15 s", "hold: 9.7 s"), 2).says == "1");
}

TEST_CASE("a key on which second readers split decides about nobody, however many they were") {
  const auto key =
      answer_key_of(library_of(case_with("reviewed_by: 0", "reviewed_by: 3\nreaders_split: [\"3\"]")),
                    InstrumentId("small"))
          .value();
  CHECK(key.cases.at(owl).second_readers == 3);
  CHECK(key.find(owl, 0)->decidable == Decidable::yes);
  CHECK(key.find(owl, 2)->decidable == Decidable::readers_split);
  CHECK(key.find(owl, 2)->category == 2);
}

TEST_CASE("a flawless rater gives the keys of the library") {
  const auto library = library_of(evenhand::test::small_case());
  const auto key = answer_key_of(library, InstrumentId("small")).value();
  const std::vector<TrueCase> cases{true_case(library, owl).value()};
  CHECK(cases[0].version == cases::fingerprint(library, library.cases.at("owl")));
  REQUIRE(cases[0].items[0].trials.size() == 2);
  const SimulatedRater flawless{.id = RaterId("r"), .slip = 0.0, .watch = {0.0, 0.0}, .ruler = {0.0, 0.0}};
  const auto rows = simulate(flawless, cases, *library.instruments.at("small").in_force, {}, 1).value();
  const auto results = results_of(scores::table_of(rows).value(), key).value();
  REQUIRE(results[0].cases[0].items.size() == 3);
  for (const ItemResult& result : results[0].cases[0].items) CHECK(result.agrees);
}

TEST_CASE("the skip rule and refusals are no keys to agree with") {
  auto text = case_with(
      "  - item: \"3\"\n    key: \"2\"\n    trials:\n      - written: She sits down, folds her "
      "hands and hums a whole song before time is called.\n        observed: {hold: 15 s}\n",
      "  - {item: \"3\", key: refused, why: She wants to go home.}\n");
  const auto library = library_of(text);
  const auto key = answer_key_of(library, InstrumentId("small")).value();
  CHECK(key.find(owl, 2)->decidable == Decidable::key_is_status);
  CHECK(key.find(owl, 2)->says == "refused");
  CHECK(true_case(library, owl)->items[2].without == scores::Status::refused);
}

TEST_CASE("what the library does not have is said", "[edge]") {
  const auto library = library_of(evenhand::test::small_case());
  CHECK(answer_key_of(library, InstrumentId("large")).error().code == Errc::not_found);
  CHECK(true_case(library, CaseId("crow")).error().message == "there is no case `crow`");
}

TEST_CASE("a set says which items are due") {
  cases::CaseSet set;
  set.entries = {{owl, {ItemId("1"), ItemId("3")}}};
  CHECK(due_of(set).at(owl) == std::vector<ItemId>{ItemId("1"), ItemId("3")});
}

namespace {

const std::string film = R"(format: evenhand/case-1
id: owl
instrument: small
child: {code: Owl, age: 7, picture: Likes to hum.}
setting: A corridor.
share: mild
external: {kind: film, find: Cabinet B, minutes: 9, consent: The parents agreed.}
items: ["1", "2"]
)";

}  // namespace

TEST_CASE("outside, the key is what the panel gave: where there is none a score counts nowhere") {
  const auto before = answer_key_of(library_of(film), InstrumentId("small")).value();
  for (std::size_t item = 0; item < 3; ++item) CHECK(before.find(owl, item) == nullptr);
  CHECK(before.cases.at(owl).second_readers == 0);
  const auto after =
      answer_key_of(library_of(film + "panel: {members: 3, key: {\"1\": \"1\", \"2\": refused}}\n"),
                    InstrumentId("small"))
          .value();
  CHECK(after.cases.at(owl).second_readers == 3);
  REQUIRE(after.find(owl, 0) != nullptr);
  CHECK(after.find(owl, 0)->says == "1");
  CHECK(after.find(owl, 0)->category == 1);
  CHECK(after.find(owl, 0)->decidable == Decidable::yes);
  CHECK(after.find(owl, 1)->decidable == Decidable::key_is_status);
  CHECK(after.find(owl, 2) == nullptr);
}

TEST_CASE("outside there is nothing for invented raters to see", "[edge]") {
  const auto seen = true_case(library_of(film), owl);
  REQUIRE_FALSE(seen);
  CHECK(seen.error().message.find("lies outside") != std::string::npos);
}

}  // namespace evenhand::competency
