#include "calibration/library_rounds.hpp"

#include <chrono>

#include <catch2/catch.hpp>

#include "calibration/calibration.hpp"
#include "calibration/support.hpp"
#include "cases/key.hpp"
#include "support/shipped.hpp"

namespace evenhand::calibration {
namespace {

using evenhand::test::shipped_library;
using evenhand::test::shipped_scale;
using test::need;
using test::row;

TEST_CASE("the keys of the library stand beside the scores, in the order of its items", "[property]") {
  // Items in an order of their own, and a film that the library does not have.
  const auto table = need(
      scores::table_of(std::vector{row("a", "r1", "pb-crow", "9", "2"), row("a", "r1", "pb-crow", "2", "3"),
                                   row("a", "r2", "film", "2", "1"), row("b", "r1", "pb-wren", "2", "4"),
                                   row("b", "r2", "pb-wren", "9", "0")}));
  const auto made = need(rounds_in_library(table, shipped_library()));
  CHECK(made.instrument == InstrumentId("pediatric-balance"));
  REQUIRE(made.rounds.size() == 2);
  const auto& round = made.rounds[0];
  CHECK(round.items == std::vector{ItemId("2"), ItemId("9")});
  REQUIRE(round.key);
  CHECK(round.raters[*round.key].rater == RaterId("key"));
  const auto key = cases::key_of(shipped_library().cases.at("pb-crow"), shipped_scale());
  for (std::size_t i = 0; i < round.items.size(); ++i) {
    const std::size_t item = evenhand::test::shipped_item(round.items[i].text());
    const auto& cell = round.at(i, *round.key, 0);
    REQUIRE(cell.scored());
    CHECK(round.categories[static_cast<std::size_t>(cell.category)] ==
          shipped_scale().instrument.items[item].levels[*key.items[item].level].label);
    CHECK_FALSE(round.at(i, *round.key, 1).scored());  // the film
  }
  CHECK(round.at(0, 0, 0).category == 3);  // r1, item 2
  CHECK(round.at(1, 0, 0).category == 2);  // r1, item 9
  CHECK(made.facts(CaseId("pb-crow"), ItemId("2")));
  CHECK(calibrate(made.rounds, 1, made.facts));
}

/// Rounds of one score each, the later one first; `timed` of them have a time.
std::vector<scores::Score> later_first(int timed) {
  std::vector<scores::Score> rows{row("2029", "r1", "pb-crow", "2", "3"),
                                  row("2028", "r1", "pb-crow", "2", "3")};
  for (int i = 0; i < timed; ++i)
    rows[static_cast<std::size_t>(i)].at = base::Time(std::chrono::hours(24 * (i == 0 ? 21'500 : 21'100)));
  return rows;
}

TEST_CASE("rounds are put in order of time, whatever the order of the file", "[reference]") {
  const auto made = need(rounds_in_library(need(scores::table_of(later_first(2))), shipped_library()));
  CHECK(made.order == RoundOrder::by_time);
  CHECK(made.rounds[0].round == RoundId("2028"));
  CHECK(made.rounds[1].round == RoundId("2029"));
}

TEST_CASE("without times rounds stay in the order of the file, and the report says so", "[edge]") {
  for (const int timed : {0, 1}) {
    const auto made = need(rounds_in_library(need(scores::table_of(later_first(timed))), shipped_library()));
    CHECK(made.order == RoundOrder::of_file);
    CHECK(made.rounds[0].round == RoundId("2029"));
    const auto notes = need(calibrate(made.rounds, 1, made.facts, {.order = made.order})).notes;
    REQUIRE(notes.size() >= 2);
    CHECK(notes[0].find("in the order of the file") != std::string::npos);
    CHECK(notes[1].find("by the same keys and rulings") != std::string::npos);
  }
  // Who names the rounds knows their order.
  scores::ResolveOptions how;
  how.rounds = {RoundId("2029"), RoundId("2028")};
  const auto given = need(rounds_in_library(need(scores::table_of(later_first(2))), shipped_library(), how));
  CHECK(given.order == RoundOrder::given);
  CHECK(given.rounds[0].round == RoundId("2029"));
}

TEST_CASE("a key among the scores takes the place of the library's", "[property]") {
  const auto table = need(
      scores::table_of(std::vector{row("", "key", "pb-crow", "2", "0"), row("", "r1", "pb-crow", "2", "3")}));
  const auto made = need(rounds_in_library(table, shipped_library()));
  CHECK(made.rounds[0].raters.size() == 2);
  CHECK(made.rounds[0].at(0, *made.rounds[0].key, 0).category == 0);
}

TEST_CASE("scores of no case of the library, or off the scale, are refused", "[edge]") {
  const auto film = need(scores::table_of(std::vector{row("", "r1", "film", "2", "0")}));
  CHECK(rounds_in_library(film, shipped_library()).error().code == Errc::not_found);
  const auto off = need(scores::table_of(std::vector{row("", "r1", "pb-crow", "2", "7")}));
  CHECK(rounds_in_library(off, shipped_library()).error().code == Errc::invalid);
}

}  // namespace
}  // namespace evenhand::calibration
