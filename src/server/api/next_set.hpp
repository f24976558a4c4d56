#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "competency/practice_next.hpp"
#include "server/api/json.hpp"
#include "server/api/sitting_view.hpp"

namespace evenhand::server {

/// What a rater should practice next, by what went wrong so far.
struct NextSet {
  InstrumentId instrument;
  std::vector<ItemId> items;           ///< the weak ones, worst first
  std::vector<cases::SetEntry> cases;  ///< which items of which cases
  std::string title, why;
};

/// The rule in words, for the one it is applied to.
std::string_view next_set_rule();

/// The rater's sittings whose reasons may be seen, the latest begun first.
std::vector<store::Sitting> told_sittings(Visit& visit);

/// By the rule above. Nothing when nothing was missed. The same seed gives the same set from the same scores.
/// Errors: as competency::results_of
Result<std::optional<NextSet>> next_set(Visit& visit, std::uint64_t seed = 0);

/// {title, why, items}; null when there is nothing to work on, or it cannot be told: a score of long ago may
/// be none of the item's by now. What is shown beside it, or handed in, does not depend on that.
Json next_or_null(Visit& visit);

/// As a file of the library would hold it (`evenhand/set-1`).
std::string to_yaml(const NextSet& next, const SetId& id);

/// Composes the set, keeps it in the store and begins a sitting at it; or goes on with the one that is open.
Response begin_next(Visit& visit, std::uint64_t seed);

}  // namespace evenhand::server
