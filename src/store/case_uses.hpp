#pragma once

#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// Whether anybody may have been held against the key of a case: there is an imported score of it, an answer
/// in a skills check or a round, or one in practice since a time (before that, it had no key to show).
bool is_held_against(Store& store, const CaseId& the_case, base::Time keyed_since);

}  // namespace evenhand::store
