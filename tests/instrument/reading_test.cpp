#include "instrument/reading.hpp"

#include <map>

#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "instrument/audit.hpp"
#include "instrument/gray.hpp"
#include "instrument/reason.hpp"
#include "instrument/total.hpp"
#include "instrument/vectors.hpp"

using namespace evenhand;
using namespace evenhand::instrument;

namespace {

const Scoring& scoring_for(const std::string& id) {
  static const std::map<std::string, std::string> paths{
      {"pediatric-balance", "cases/instruments/pediatric-balance.yaml"},
      {"spasticity", "cases/instruments/spasticity.yaml"},
      {"sit-walk-turn", "cases/instruments/sit-walk-turn.yaml"}};
  static std::map<std::string, Scoring> read;
  if (!read.contains(id))
    read.emplace(id,
                 test::scoring_of(paths.contains(id) ? paths.at(id) : "tests/instrument/adult_one_leg.yaml"));
  return read.at(id);
}

std::vector<SeenTrial> seen_trials(const test::Vector& row, const Scoring& scoring, std::size_t item) {
  std::vector<SeenTrial> trials;
  for (const auto& trial : test::trials_of(row, scoring, item)) {
    if (trial.practice) continue;
    const auto seen = complete(scoring, item, trial.stated);
    if (!seen) throw std::runtime_error(seen.error().message);
    trials.push_back({trial.way, *seen});
  }
  return trials;
}

ItemReading read(const std::string& item, const std::string& observed) {
  const Scoring& scoring = scoring_for("pediatric-balance");
  const auto place = item_named(scoring.instrument, item);
  return read_item(scoring, *place,
                   seen_trials({1, "pediatric-balance", item, observed, "", "", ""}, scoring, *place));
}

std::string level(const std::string& item, const std::string& observed) {
  const Scoring& scoring = scoring_for("pediatric-balance");
  const auto reading = read(item, observed);
  return reading.level
             ? scoring.instrument.items[*item_named(scoring.instrument, item)].levels[*reading.level].label
             : "none";
}

std::vector<double> random_values(const Scoring& scoring, const Item& item, base::Random& random) {
  std::vector<double> values;
  for (const std::size_t place : item.observe) {
    const Observation& o = scoring.instrument.observations[place];
    if (!o.is_number())
      values.push_back(static_cast<double>(random.index(o.values.size())));
    else if (o.kind == Kind::count)
      values.push_back(o.from +
                       static_cast<double>(random.index(static_cast<std::size_t>(o.to - o.from) + 1)));
    else  // often near the small end, where the thresholds are
      values.push_back(random.chance(0.7) ? o.from + random.uniform() * std::min(40.0, o.to - o.from)
                                          : o.from + random.uniform() * (o.to - o.from));
  }
  return values;
}

}  // namespace

TEST_CASE("the trial rule gives the level of every vector, several trials and two ways included",
          "[reference]") {
  // Sources stand in each row; see vectors_test.cpp.
  std::size_t several = 0;
  for (const auto* path : {"boundary", "case_writing", "gray_zone"})
    for (const auto& row : test::read_vectors(fmt::format("tests/instrument/{}_vectors.csv", path))) {
      const Scoring& scoring = scoring_for(row.instrument);
      const auto place = item_named(scoring.instrument, row.item);
      REQUIRE(place);
      INFO(path << " line " << row.line << ", item " << row.item << ": " << row.observed << "; "
                << row.source);
      if (row.by == "status") continue;  // an answer of its own: nothing was seen that could be read
      const auto trials = seen_trials(row, scoring, *place);
      const auto reading = read_item(scoring, *place, trials);
      if (row.expected == "no-answer") {
        CHECK_FALSE(reading.level);
        CHECK(reading.no_score_because.find("not tested") != std::string::npos);
        continue;
      }
      REQUIRE(reading.level);
      CHECK(scoring.instrument.items[*place].levels[*reading.level].label == row.expected);
      const auto* deciding = reading.deciding();
      if (row.by == "spoilt") {
        CHECK(reading.left_out_of_mean > 0);
        continue;
      }
      CHECK((deciding->rulings.empty()
                 ? "settled"
                 : scoring.items[*place].rulings[deciding->rulings.front()].id) == row.by);
      several += trials.size() > 1;
      CHECK_FALSE(reason(scoring, *place, reading).empty());
    }
  CHECK(several >= 25);
}

TEST_CASE("each of the seventy levels is reached", "[property]") {
  const Scoring& scoring = scoring_for("pediatric-balance");
  REQUIRE(scoring.instrument.items.size() == 14);
  for (std::size_t item = 0; item < 14; ++item) {
    REQUIRE(scoring.instrument.items[item].levels.size() == 5);
    for (int l = 0; l < 5; ++l) {
      INFO("item " << scoring.instrument.items[item].id << " level "
                   << scoring.instrument.items[item].levels[static_cast<std::size_t>(l)].label);
      CHECK(
          std::ranges::any_of(scoring.items[item].cells, [&](const Cell& cell) { return cell.level == l; }));
    }
  }
}

TEST_CASE("no observation falls outside the partition, and none is left without an answer", "[property]") {
  for (const auto* id : {"pediatric-balance", "spasticity"}) {
    const Scoring& scoring = scoring_for(id);
    for (std::size_t item = 0; item < scoring.instrument.items.size(); ++item) {
      base::Random random(20261125, item);
      const auto& classification = scoring.items[item];
      std::size_t possible = 0;
      for (int i = 0; i < 100'000; ++i) {
        const auto values = random_values(scoring, scoring.instrument.items[item], random);
        const std::size_t cell = classification.partition.cell_of(values);
        REQUIRE(cell < classification.cells.size());
        if (classification.cells[cell].kind == CellKind::impossible) continue;
        ++possible;
        // What the cell says is what the conditions say of the very numbers.
        std::uint32_t claims = 0;
        const auto& levels = scoring.instrument.items[item].levels;
        for (std::size_t l = 0; l < levels.size(); ++l)
          for (const auto& clause : levels[l].when)
            if (holds(clause, scoring.instrument.observations, scoring.instrument.items[item].observe,
                      values))
              claims |= std::uint32_t{1} << l;
        REQUIRE(claims == classification.cells[cell].claims);
        REQUIRE(classification.cells[cell].level >= 0);
      }
      CHECK(possible > 1000);
    }
  }
}

TEST_CASE("a better performance never gets a lower level, rulings included", "[property]") {
  for (const auto* id : {"pediatric-balance", "spasticity"}) {
    const Scoring& scoring = scoring_for(id);
    for (std::size_t item = 0; item < scoring.instrument.items.size(); ++item) {
      const auto breaks = breaks_of(scoring, item);
      INFO(id << " item " << scoring.instrument.items[item].id);
      if (!breaks.empty()) {
        INFO(cell_words(scoring, item, breaks.front().worse)
             << "\n   against\n"
             << cell_words(scoring, item, breaks.front().better));
        CHECK(breaks.empty());
      }
    }
  }
}

TEST_CASE("the shipped instruments pass their own audit") {
  for (const auto* id : {"pediatric-balance", "spasticity", "sit-walk-turn"}) {
    document::Faults faults;
    audit(scoring_for(id), faults);
    INFO(faults.text());
    CHECK(faults.empty());
  }
}

TEST_CASE("best is by level and not by time, and the first of equals counts") {
  CHECK(level("4", "hold=32 s; near_loss=some | hold=29 s") == "3");
  const auto reading = read("4", "hold=16 s | hold=28 s");
  CHECK(reading.counts == 0U);
}

TEST_CASE("what was better than the next level asks is not missing", "[edge]") {
  // Heel to toe is better than the small step that level 2 describes; only the time is short.
  const auto reading = read("8", "hold=20 s");
  REQUIRE(reading.deciding()->next);
  REQUIRE(reading.deciding()->next->lacks.size() == 1);
  CHECK(reading.deciding()->next->lacks.front().shortfall == 10.0);
}

TEST_CASE("numbers are said as finely as they can be told", "[edge]") {
  const auto text = reason_text(scoring_for("pediatric-balance"), 13,
                                read("14", "distance=25.0 cm | distance=24.6 cm | distance=25.1 cm"));
  CHECK_THAT(text, Catch::Contains("reached 9.803 in (24.9 cm)."));  // 74.7 cm / 3 = 24.9 cm
}

TEST_CASE("a limit in inches is said in centimeters too, since either ruler may be at hand") {
  const auto text = reason_text(scoring_for("pediatric-balance"), 13,
                                read("14", "distance=11.5 cm | distance=11.5 cm | distance=11.5 cm"));
  INFO(text);
  CHECK_THAT(text, Catch::Contains("reached 4.528 in (11.5 cm)"));
  CHECK_THAT(text, Catch::Contains("reached more than 5 in (12.7 cm)"));
  CHECK_THAT(text, Catch::Contains("short by 0.472 in (1.2 cm)"));
}

TEST_CASE("a mean says what it counts past the top threshold as") {
  const Scoring& scoring = scoring_for("pediatric-balance");
  const auto capped = reason_text(
      scoring, 13, read("14", "distance=8 in | distance=20 in | distance=9 in"));  // (8 + 10 + 9) / 3
  CHECK_THAT(capped, Catch::Contains("The mean of 3 trials counts. What lies past 10 in (25.4 cm) counts in "
                                     "it as 10 in (25.4 cm). Seen: reached 9 in (22.9 cm)."));
  const auto all = reason_text(
      scoring, 13, read("14", "distance=12 in; near_loss=some | distance=14 in | distance=11 in"));
  CHECK_THAT(all,
             Catch::Contains("All lie past 10 in (25.4 cm); the one nearest to it stands for them. Seen: "
                             "reached 11 in"));
  const auto plain = reason_text(scoring, 13, read("14", "distance=8 in | distance=9 in | distance=9 in"));
  CHECK_THAT(plain, !Catch::Contains("past"));
}

TEST_CASE("of equal trials one that the words settle counts before one that a ruling settles") {
  // Less than an inch short of it is level 2 by ruling 12-b; an inch to two by the criteria's words.
  const auto reading = read("12", "pickup=short; gap=0.5 in | pickup=short; gap=1.5 in");
  CHECK(reading.counts == 1);
  CHECK_FALSE(reading.gray());
  const auto turned = read("12", "pickup=short; gap=1.5 in | pickup=short; gap=0.5 in");
  CHECK(turned.counts == 0);
}

TEST_CASE("a number that is the limit itself is not said to lie near it", "[edge]") {
  const Scoring& scoring = scoring_for("pediatric-balance");
  CHECK_THAT(reason_text(scoring, 8, read("9", "hold=10 s")),
             Catch::Contains("10 s is exactly at the limit; watch or ruler could make it level 3."));
  CHECK_THAT(reason_text(scoring, 8, read("9", "hold=9.8 s")), Catch::Contains("9.8 s lies so near to 10 s"));
}

TEST_CASE("trials after a full score are not needed") {
  const auto reading = read("4", "hold=31 s | hold=3 s");
  CHECK(reading.trials.size() == 1);
  CHECK(reading.not_needed == 1);
}

TEST_CASE("the reason says what was missing for the next level, and by how much") {
  const Scoring& scoring = scoring_for("pediatric-balance");
  const auto reading = read("4", "hold=22 s");
  REQUIRE(reading.deciding()->next);
  REQUIRE(reading.deciding()->next->lacks.size() >= 1);
  const auto text = reason_text(scoring, 3, reading);
  INFO(text);
  CHECK(text.find("held 22 s") != std::string::npos);
  CHECK(text.find("short by 8 s") != std::string::npos);
  const auto gray = read("8", "hold=20 s");
  const auto words = reason_text(scoring, 7, gray);
  INFO(words);
  CHECK(words.find("leave this open") != std::string::npos);
  CHECK(words.find("Ruling 8-a") != std::string::npos);
}

TEST_CASE("where all was as usual, the reason says what that is") {
  const Scoring& scoring = scoring_for("pediatric-balance");
  const auto text = reason_text(scoring, 0, read("1", "rise_hands=none"));
  INFO(text);
  CHECK_THAT(text, Catch::Contains("Seen: all as usual: ") && Catch::Contains("no hand touches the child"));
  CHECK_THAT(reason_text(scoring, 11, read("12", "pickup=picked-up")),
             Catch::Contains("Seen: all as usual: picks it up; in one go;"));
  // Where something was not, that alone is said.
  const auto pushed = reason_text(scoring, 0, read("1", "rise_hands=bench"));
  INFO(pushed);
  CHECK_THAT(pushed, Catch::Contains("Seen: ") && !Catch::Contains("as usual"));
}

TEST_CASE("a mean at a price is explained by what the mean itself is") {
  const Scoring& scoring = scoring_for("pediatric-balance");
  const auto reading = read("14", "distance=6 in | distance=9 in; lost=stepped | distance=8 in");
  const auto text = reason_text(scoring, 13, reading);
  INFO(text);
  CHECK(text.find("That is level 3") != std::string::npos);
  CHECK(text.find("So the level is 2") != std::string::npos);
}

TEST_CASE("a number within the watch's error of a threshold that matters is borderline") {
  CHECK_FALSE(read("4", "hold=29.4 s").borderline);  // 0.6 s below: out
  CHECK(read("4", "hold=29.41 s").borderline);
  CHECK(read("4", "hold=30.29 s").borderline);
  CHECK_FALSE(read("4", "hold=30.3 s").borderline);
  // Past a threshold that changes nothing: a hold of 15 s with level 3 shown in another trial.
  CHECK_FALSE(read("4", "hold=14.9 s | hold=32 s; near_loss=some").borderline);
  // 0.5 cm around 10 in (25.4 cm).
  CHECK(read("14", "distance=25.0 cm | distance=25.0 cm | distance=25.0 cm").borderline);
  CHECK_FALSE(read("14", "distance=24.8 cm | distance=24.8 cm | distance=24.8 cm").borderline);
  const auto near = read("9", "hold=9.8 s");
  REQUIRE(near.borderline);
  CHECK(near.borderline->threshold == 10.0);
  CHECK(near.borderline->other_level == 0);
}

TEST_CASE("the borderline trial need not be the one that counts") {
  // A second trial of 29.8 s would have made it a 4.
  CHECK(read("4", "hold=32 s; near_loss=some | hold=29.8 s").borderline);
}

TEST_CASE("one way alone is no score") {
  const auto reading = read("3", "out: transfer_hands=push");
  CHECK_FALSE(reading.level);
  CHECK(reading.no_score_because == "the way `back` was not tested");
}

TEST_CASE("what contradicts itself or is not known is refused", "[edge]") {
  const Scoring& scoring = scoring_for("pediatric-balance");
  const auto error = [&](const std::string& item, std::vector<std::pair<std::string, std::string>> named) {
    const auto seen = observe(scoring, *item_named(scoring.instrument, item), named, BareNumbers::taken);
    return seen ? std::string("none") : seen.error().message;
  };
  CHECK(error("4", {{"hold", "12"}}) == "none");
  // What nobody stated is named as what it is: a guess that may be at fault.
  CHECK_THAT(error("12", {{"gap", "1 in"}}),
             Catch::Contains("`pickup` (picks it up) was not stated and taken as usual: state it too"));
  CHECK(error("4", {{"hold", "20 s"}, {"ended", "time-called"}}).find("taken as usual") == std::string::npos);
  CHECK(error("4", {{"hold", "20 s"}, {"ended", "time-called"}}).find("cannot be seen together") !=
        std::string::npos);
  CHECK(error("4", {{"hodl", "20 s"}}).find("did you mean `hold`") != std::string::npos);
  CHECK(error("4", {{"hold", "20 s"}, {"hold", "21 s"}}).find("twice") != std::string::npos);
  CHECK(error("4", {{"hold", "-1 s"}}) != "none");
  CHECK(error("4", {{"hold", "20 in"}}) != "none");
  CHECK(error("4", {}).find("`hold` must be stated") != std::string::npos);
}

TEST_CASE("a measured item scores the number that its trial rule gives") {
  const Scoring& scoring = scoring_for("sit-walk-turn");
  const auto seen = observe(scoring, 0, std::vector<std::pair<std::string, std::string>>{{"time", "7.25 s"}});
  REQUIRE(seen);
  const auto reading = read_item(scoring, 0, std::vector<SeenTrial>{{0, *seen}});
  REQUIRE(reading.number);
  CHECK(*reading.number == 7.25);
  CHECK_FALSE(reading.level);
}

TEST_CASE("gray regions hold every gray cell and nothing else", "[property]") {
  for (const auto* id : {"pediatric-balance", "spasticity"}) {
    const Scoring& scoring = scoring_for(id);
    for (std::size_t item = 0; item < scoring.instrument.items.size(); ++item) {
      const auto& c = scoring.items[item];
      std::vector<bool> held(c.cells.size(), false);
      std::size_t sum = 0;
      for (const auto& region : gray_regions(scoring, item)) {
        sum += region.cells;
        CHECK_FALSE(region_words(scoring, item, region).empty());
        c.partition.for_each_cell(region.box, [&](std::size_t cell) {
          if (c.cells[cell].kind == CellKind::impossible) return;
          REQUIRE(c.cells[cell].kind == region.kind);
          REQUIRE(c.cells[cell].claims == region.claims);
          held[cell] = true;
        });
      }
      std::size_t gray = 0;
      for (std::size_t cell = 0; cell < c.cells.size(); ++cell) {
        gray += c.cells[cell].gray();
        REQUIRE(held[cell] == c.cells[cell].gray());
      }
      CHECK(sum == gray);
    }
  }
}

TEST_CASE("a total says over how many items it is, and a missing item is no zero") {
  const Instrument& instrument = scoring_for("pediatric-balance").instrument;
  std::vector<std::optional<std::size_t>> levels(14, 0);  // the best of each
  auto sum = total(instrument, levels);
  REQUIRE(sum);
  CHECK(sum->points == 56);
  CHECK(sum->complete());
  levels[13].reset();
  sum = total(instrument, levels);
  CHECK(sum->points == 52);
  CHECK(sum->maximum == 52);
  CHECK(sum->items == 13);
  CHECK_FALSE(total(scoring_for("sit-walk-turn").instrument, std::vector<std::optional<std::size_t>>(1)));
}
