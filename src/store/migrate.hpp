#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/time.hpp"
#include "store/db.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// One step of the schema: src/store/schema/<number>_<name>.sql.
struct Migration {
  int number;
  std::string_view name;
  std::string_view sql;
};

/// All of this program's, in order, numbered 1, 2, 3, ... without a gap.
std::span<const Migration> migrations();

/// The number of the newest step in a store; 0: a blank file.
/// Errors: invalid  the file is no store
Result<int> schema_number(Db& db);

/// Brings the file up to the last of `known`, all missing steps in one transaction. A store that has a step
/// already is copied beside itself first.
/// Errors: invalid  no store, or one that knows more steps than this program
Result<void> migrate(Db& db, std::span<const Migration> known, base::Time now);

/// How the schema differs from what `known` makes, in words.
std::vector<std::string> schema_findings(Db& db, std::span<const Migration> known);

}  // namespace evenhand::store
