#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <catch2/catch.hpp>

#include "instrument/vectors.hpp"

using namespace evenhand;
using namespace evenhand::instrument;

TEST_CASE("at every threshold of the shipped instruments, one step of the watch or ruler changes the class",
          "[property]") {
  std::size_t thresholds = 0;
  for (const std::string name : {"pediatric-balance", "spasticity", "sit-walk-turn"}) {
    const Scoring scoring = test::scoring_of("cases/instruments/" + name + ".yaml");
    for (std::size_t item = 0; item < scoring.items.size(); ++item) {
      const Partition& partition = scoring.items[item].partition;
      for (std::size_t axis = 0; axis < partition.axes().size(); ++axis) {
        const auto& cuts = partition.axes()[axis].cuts;
        const Observation& o = scoring.instrument.observations[partition.axes()[axis].observation];
        for (std::size_t i = 0; i < cuts.size(); ++i) {
          // Two cuts may lie around one number, and those of a count one step apart.
          const bool twin_below = i > 0 && cuts[i - 1].at == cuts[i].at;
          const bool twin_above =
              i + 1 < cuts.size() &&
              (cuts[i + 1].at == cuts[i].at || (o.kind == Kind::count && cuts[i + 1].at == cuts[i].at + 1.0));
          INFO(name << " item " << scoring.instrument.items[item].id << ", " << o.id << " at " << cuts[i].at);
          CHECK(partition.class_of(axis, cuts[i].at) == (cuts[i].after ? i : i + 1));
          CHECK(partition.class_of(axis, cuts[i].at - o.resolution) == (twin_below ? i - 1 : i));
          CHECK(partition.class_of(axis, cuts[i].at + o.resolution) == (twin_above ? i + 2 : i + 1));
          ++thresholds;
        }
      }
    }
  }
  CHECK(thresholds > 30);
}

TEST_CASE("each threshold of the balance scale has vectors one step below it, at it and above it",
          "[property]") {
  const Scoring scoring = test::scoring_of("cases/instruments/pediatric-balance.yaml");
  std::map<std::pair<std::size_t, std::size_t>, std::vector<double>> tried;  // by item and axis
  for (const auto& row : test::read_vectors("tests/instrument/threshold_vectors.csv")) {
    const auto item = item_named(scoring.instrument, row.item);
    REQUIRE(item);
    for (const auto& trial : test::trials_of(row, scoring, *item))
      for (std::size_t axis = 0; axis < trial.stated.size(); ++axis)
        if (trial.stated[axis]) tried[{*item, axis}].push_back(*trial.stated[axis]);
  }
  std::size_t thresholds = 0;
  for (std::size_t item = 0; item < scoring.items.size(); ++item) {
    const Partition& partition = scoring.items[item].partition;
    for (std::size_t axis = 0; axis < partition.axes().size(); ++axis) {
      const Observation& o = scoring.instrument.observations[partition.axes()[axis].observation];
      for (const auto& cut : partition.axes()[axis].cuts) {
        if (cut.at <= o.from && o.kind != Kind::count) continue;  // only says what cannot be
        for (const double value : {cut.at - o.resolution, cut.at, cut.at + o.resolution}) {
          if (value < o.from) continue;
          INFO("item " << scoring.instrument.items[item].id << ", " << o.id << " " << value);
          CHECK(std::ranges::any_of(tried[{item, axis}],
                                    [&](double seen) { return std::abs(seen - value) < 1e-9; }));
        }
        ++thresholds;
      }
    }
  }
  CHECK(thresholds > 30);
}
