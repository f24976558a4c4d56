#pragma once

#include <string>

#include "base/error.hpp"
#include "store/db.hpp"

namespace evenhand::store {

/// See Store::backup.
Result<void> back_up(Db& db, const std::string& path);

}  // namespace evenhand::store
