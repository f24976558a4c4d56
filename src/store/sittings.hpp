#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "base/error.hpp"
#include "scores/score.hpp"
#include "store/db.hpp"
#include "store/sitting.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// A sitting and where it stands.
struct KeptSitting {
  std::int64_t number;
  Sitting sitting;
};

/// Inside a transaction. The verbs of Store of the same names say what these do.
std::optional<KeptSitting> find_sitting(Db& db, const SittingId& id);
std::optional<Sitting> find_open_sitting(Db& db, const RaterId& rater, const SetId& set,
                                         const RoundId& round);
std::vector<KeptSitting> find_sittings(Db& db, const ScoreFilter& filter);
Result<SittingId> begin(Db& db, const Sitting& sitting);
Result<void> finish(Db& db, const SittingId& id, base::Time at);

/// Errors: conflict  the round is known, and was closed
Result<void> check_open(Db& db, const RoundId& round);
std::vector<RoundId> locked_rounds(Db& db);

Result<void> check_answer(const SittingId& sitting, const Answer& answer);
Result<void> append(Db& db, const SittingId& id, const Answer& answer);
std::vector<Answer> all_revisions(Db& db, std::int64_t sitting);
std::vector<Answer> in_force(std::vector<Answer> revisions);

/// What an answer amounts to as rows of a ScoreTable: readings of trials that do not count, then the answer.
std::vector<scores::Score> rows_of(const Sitting& sitting, const Answer& answer);

}  // namespace evenhand::store
