#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "agreement/rating_table.hpp"
#include "calibration/round_data.hpp"

namespace evenhand::calibration {

/// Totals of some raters on some cases, in points of the total (see `calibrate`).
struct Totals {
  agreement::RatingTable ratings{0, 0};             ///< cases in rows, raters in columns
  std::vector<agreement::RatingTable::Cell> key{};  ///< by case; empty without a key
};

/// raters, cases  places in the data
/// counts         which items count, by item * cases.size() + place among `cases`
/// Pre-condition: the categories are numbers.
Totals totals_of(const RoundData& data, std::span<const std::size_t> raters,
                 std::span<const std::size_t> cases, std::span<const std::uint8_t> counts);
/// Of everybody and everything.
Totals totals_of(const RoundData& data);

/// Items of the round by those of a case, mean over the cases that have any; 1 when there is none.
double mean_scale(const RoundData& data);

/// 0 .. n - 1.
std::vector<std::size_t> all_places(std::size_t n);

}  // namespace evenhand::calibration
