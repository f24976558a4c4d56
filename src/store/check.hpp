#pragma once

#include <optional>
#include <string>
#include <vector>

#include "store/db.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// Inside a transaction. The verbs of Store of the same names say what these do.
std::vector<std::string> find_faults(Db& db);
Result<Counts> count_rows(Db& db, const std::optional<RaterId>& rater);

}  // namespace evenhand::store
