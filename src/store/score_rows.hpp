#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "scores/score_table.hpp"
#include "store/db.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// Inside a transaction. The verbs of Store of the same names say what these do.
Result<Import> import_rows(Db& db, const scores::ScoreTable& table, const Source& source, base::Time at);
std::vector<Import> list_imports(Db& db);
Result<void> undo(Db& db, std::int64_t number, base::Time at);
Result<scores::ScoreTable> find_scores(Db& db, const ScoreFilter& filter);

/// The columns of `score c JOIN person p` that `score_in` reads.
inline const std::string score_columns =
    "c.number, p.rater, c.round, c.sitting, c.case_id, c.item, c.trial, c.status, c.value, c.seconds, "
    "c.scored_at, "
    "c.case_fingerprint";
scores::Score score_in(const Run& row);

}  // namespace evenhand::store
