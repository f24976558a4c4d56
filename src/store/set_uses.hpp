#pragma once

#include <cstddef>
#include <map>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// What rests on a set.
struct SetUses {
  std::size_t sittings = 0;                ///< that were begun at it
  std::size_t rounds = 0;                  ///< that were opened with it, closed ones too
  std::size_t assignments = 0;             ///< made and not withdrawn, whatever their window
  std::vector<std::string> open_rounds{};  ///< titles of those that are open
  std::size_t open_assignments = 0;  ///< whose window has not ended for some member, withdrawn ones left out

  /// Whether anything was, or may still be, scored at it.
  bool any() const { return sittings + rounds + assignments > 0; }
  bool open() const { return !open_rounds.empty() || open_assignments > 0; }

  friend bool operator==(const SetUses&, const SetUses&) = default;
};

SetUses uses_of(Store& store, const SetId& set, base::Time now);

/// Which cases each of these raters has met: answered an item of in any sitting, or has an imported score of.
/// A case that was opened and left without an answer is not known. Raters who met none are left out.
std::map<RaterId, std::set<CaseId>> met_cases(Store& store, std::span<const RaterId> raters);

}  // namespace evenhand::store
