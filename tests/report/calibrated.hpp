#pragma once

#include <string>
#include <utility>

#include <catch2/catch.hpp>

#include "calibration/calibration.hpp"
#include "scores/read_long.hpp"

namespace evenhand::test {

/// The calibration of one of the rounds of these scores (levels 0 to 4), by its place.
inline calibration::Calibration calibrated(const std::string& csv, std::size_t round = 0) {
  const auto table = scores::read_long(csv, "scores.csv");
  REQUIRE(table);
  scores::ResolveOptions how;
  how.categories = {"0", "1", "2", "3", "4"};
  const auto rounds = scores::resolve(table->table, how);
  REQUIRE(rounds);
  auto of = calibration::calibrate(*rounds, round);
  REQUIRE(of);
  return *std::move(of);
}

}  // namespace evenhand::test
