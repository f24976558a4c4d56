#include "instrument/vectors.hpp"

#include <map>
#include <set>
#include <span>
#include <stdexcept>

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include "instrument/read_instrument.hpp"
#include "instrument/read_rulings.hpp"
#include "instrument/reading.hpp"

// The data of the Pediatric Balance Scale against what its sources say, row by row. The sources of the rows:
//   boundary_vectors.csv      thresholds approached from both sides, items 1-8 published (seen second-hand),
//                             items 9-14 common practice, policies our own
//   threshold_vectors.csv     every threshold one step of watch, ruler or count below it, at it and above it;
//                             the same sources
//   case_writing_vectors.csv  the plain contrasts of each item that a teacher would write, common practice
//   gray_zone_vectors.csv     situations the criteria leave open or settle twice, defaults of this project

using namespace evenhand;
using namespace evenhand::instrument;
using test::Vector;

namespace {

const std::map<std::string, Scoring>& scorings() {
  static const std::map<std::string, Scoring> all = [] {
    std::map<std::string, Scoring> read;
    for (const auto* path : {"cases/instruments/pediatric-balance.yaml", "cases/instruments/spasticity.yaml",
                             "tests/instrument/adult_one_leg.yaml"}) {
      Scoring scoring = test::scoring_of(path);
      const std::string id = scoring.instrument.id;
      read.emplace(id, std::move(scoring));
    }
    return read;
  }();
  return all;
}

struct Found {
  std::string level, by;
};

std::vector<SeenTrial> seen(const Vector& row, const Scoring& scoring, std::size_t item) {
  std::vector<SeenTrial> trials;
  for (const auto& trial : test::trials_of(row, scoring, item)) {
    if (trial.practice) continue;
    const auto observed = complete(scoring, item, trial.stated);
    if (!observed) throw std::runtime_error(observed.error().message);
    trials.push_back({trial.way, *observed});
  }
  return trials;
}

/// What the engine makes of a row, in the words of the columns `expected` and `by`.
Found found_in(const Vector& row, const Scoring& scoring) {
  const auto item = item_named(scoring.instrument, row.item);
  if (!item) throw std::runtime_error("there is no item " + row.item);
  const auto reading = read_item(scoring, *item, seen(row, scoring, *item));
  if (!reading.level) return {"no-answer", "trials"};
  const auto& rulings = reading.deciding()->rulings;
  const std::string by = reading.left_out_of_mean > 0 ? "spoilt"
                         : rulings.empty()            ? "settled"
                                                      : scoring.items[*item].rulings[rulings.front()].id;
  return {scoring.instrument.items[*item].levels[*reading.level].label, by};
}

void check_file(const std::string& path, std::size_t rows) {
  const std::set<std::string> statuses{"not-tested", "omitted", "refused", "unsafe", "cannot-rate"};
  const auto vectors = test::read_vectors(path);
  CHECK(vectors.size() == rows);
  for (const auto& row : vectors) {
    INFO(path << ":" << row.line << ": item " << row.item << ", " << row.observed << "; " << row.source);
    const auto scoring = scorings().find(row.instrument);
    REQUIRE(scoring != scorings().end());
    if (row.by == "status") {  // the rater's answer instead of a performance: nothing to read
      CHECK(row.observed == "status: " + row.expected);
      CHECK(statuses.contains(row.expected));
      continue;
    }
    const auto found = found_in(row, scoring->second);
    CHECK(found.level == row.expected);
    CHECK(found.by == row.by);
  }
}

}  // namespace

TEST_CASE("the thresholds of the criteria are met to the hundredth", "[reference]") {
  check_file("tests/instrument/boundary_vectors.csv", 36);
}

TEST_CASE("each threshold gives its levels one step below it, at it and one step above", "[reference]") {
  check_file("tests/instrument/threshold_vectors.csv", 214);
}

TEST_CASE("the contrasts of each item give their levels", "[reference]") {
  check_file("tests/instrument/case_writing_vectors.csv", 88);
}

TEST_CASE("the gray zones have their default levels by the ruling that names them", "[reference]") {
  check_file("tests/instrument/gray_zone_vectors.csv", 181);
}

TEST_CASE("every default ruling is shown by a vector", "[property]") {
  std::set<std::string> shown;
  for (const auto* path : {"boundary", "case_writing", "gray_zone"})
    for (const auto& row : test::read_vectors(fmt::format("tests/instrument/{}_vectors.csv", path)))
      shown.insert(row.by);
  const auto& instrument = scorings().at("pediatric-balance").instrument;
  std::vector<Ruling> rulings = instrument.general;
  for (const auto& item : instrument.items)
    rulings.insert(rulings.end(), item.rulings.begin(), item.rulings.end());
  CHECK(rulings.size() == 94);
  for (const auto& ruling : rulings) {
    INFO("ruling " << ruling.id << ": " << ruling.situation);
    CHECK((ruling.settled || shown.contains(ruling.id)));
  }
}

TEST_CASE("labels that are no numbers keep their rank", "[edge]") {
  const auto& scoring = scorings().at("spasticity");
  const Item& item = scoring.instrument.items.front();
  const auto level_of = [&](const std::string& observed) {
    const Vector row{1, "spasticity", "1", observed, "", "", "one joint"};
    return found_in(row, scoring).level;
  };
  CHECK(level_of("catch=none") == "0");
  CHECK(level_of("catch=end") == "1");
  CHECK(level_of("resistance=end") == "1");
  CHECK(level_of("catch=before-end; resistance=under-half") == "1+");
  CHECK(level_of("resistance=under-half") == "1+");  // ruled: no catch was felt
  CHECK(level_of("resistance=over-half") == "2");
  CHECK(level_of("resistance=over-half; movement=difficult") == "3");
  CHECK(level_of("resistance=over-half; movement=rigid") == "4");
  CHECK_THROWS(level_of("movement=rigid"));  // rigid and no resistance cannot be
  CHECK(merit(item, *level_named(item, "1+")) == merit(item, *level_named(item, "1")) - 1);
  CHECK(merit(item, *level_named(item, "1+")) == merit(item, *level_named(item, "2")) + 1);
}

TEST_CASE("an item can be measured, and then has no levels", "[edge]") {
  const auto scoring = test::scoring_of("cases/instruments/sit-walk-turn.yaml");
  const Item& item = scoring.instrument.items.front();
  REQUIRE(item.measured);
  CHECK(item.measured->better == Better::less);
  CHECK(item.trials.practice == 1);
  CHECK(item.trials.counts == Counts::mean);
  CHECK(item.levels.empty());
}

TEST_CASE("the example department overrules two defaults and leaves the rest", "[property]") {
  document::Faults faults;
  const std::string path = "cases/rulings/example-department.yaml";
  const Instrument& instrument = scorings().at("pediatric-balance").instrument;
  const auto file = read_rulings(test::text_of(path), path, std::span(&instrument, 1), faults);
  INFO(faults.text());
  REQUIRE(file);
  const auto scoring = make_scoring(instrument, {*file});
  REQUIRE(scoring);
  const auto found = [&](const std::string& item, const std::string& observed) {
    const Vector row{1, "pediatric-balance", item, observed, "", "", "example department"};
    return found_in(row, *scoring);
  };
  CHECK(found("2", "touch=resting").level == "4");
  CHECK(found("2", "touch=resting").by == "ex-2-resting");
  CHECK(found("2", "touch=resting; sit_legs=bear").level == "2");
  CHECK(found("2", "touch=light").level == "0");
  CHECK(found("8", "hold=20 s").level == "2");
  CHECK(found("8", "hold=20 s").by == "ex-8-fifteen");
  CHECK(found("8", "hold=20 s; position=clear-step").level == "1");
  CHECK(found("8", "hold=20 s; near_loss=some").level == "1");
  for (const auto& item : scoring->items) CHECK(item.conflicts.empty());
}
