#pragma once

#include <cstdint>
#include <optional>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/db.hpp"

namespace evenhand::store {

/// `kind` names the id in the message: "rater", "set".
Result<void> check_id(std::string_view kind, const std::string& text);

std::optional<std::int64_t> person_number(Db& db, const RaterId& rater);

/// The number of a rater with an account.
/// Errors: not_found
Result<std::int64_t> account_number(Db& db, const RaterId& rater);

/// The number of the rater, who becomes known. The id has been checked.
std::int64_t ensure_person_number(Db& db, const RaterId& rater, base::Time at);

}  // namespace evenhand::store
