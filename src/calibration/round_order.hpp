#pragma once

#include "scores/resolve.hpp"
#include "scores/score_table.hpp"

namespace evenhand::calibration {

/// What the order of the rounds rests on. A wrong one turns the sign of every change.
enum class RoundOrder {
  given,    ///< somebody who knows gave it, or there is one round at most
  by_time,  ///< the earliest time of each round
  of_file,  ///< first appearance in the scores: some round has no time, or has scores without a round beside
            ///< it
};

/// Puts the rounds of a table in order, into `options.rounds`: by their earliest `at` when every round has
/// one, ties by first appearance. Where the rounds are given already, and where some round has no time, the
/// options stay as they are. Rows of the key tell no time.
RoundOrder order_rounds(const scores::ScoreTable& table, scores::ResolveOptions& options);

}  // namespace evenhand::calibration
