#pragma once

#include <optional>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "cases/library.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// From when the rater may begin another skills check, when the standard in force has no level for a further
/// attempt now (competency/attempts.hpp); nothing: now. What cannot be told keeps nobody from a check.
std::optional<base::Time> next_check_from(store::Store& store, const cases::Library& library,
                                          const RaterId& rater, base::Time now);

}  // namespace evenhand::server
