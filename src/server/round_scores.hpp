#pragma once

#include <vector>

#include "base/error.hpp"
#include "cases/library.hpp"
#include "scores/score_table.hpp"
#include "store/rounds.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// What the result of a round is worked out from, on the site and in the terminal: the scores of the rounds
/// before it, in the order they opened, and its own last. Those before it are on the same instrument and had
/// closed by the time it did (are closed, while it is open); where nobody scored there is nothing of a round.
/// Errors: undefined  nobody scored in the round itself
///         invalid    the scores do not fit into one table (see `Store::scores`)
Result<std::vector<scores::ScoreTable>> scores_up_to(store::Store& store, const store::Round& round,
                                                     const cases::Library& library);

/// The same as one table. Errors: as `scores::table_of`
Result<scores::ScoreTable> joined(const std::vector<scores::ScoreTable>& rounds);

/// The rounds of these tables, in their order.
std::vector<RoundId> rounds_of(const std::vector<scores::ScoreTable>& rounds);

}  // namespace evenhand::server
