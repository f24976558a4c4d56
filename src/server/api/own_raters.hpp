#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "calibration/changed_decisions.hpp"
#include "cases/library.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/checked_scores.hpp"

namespace evenhand::server {

/// Of the groups that the reader looks after, a lead of all: the members. Taken at the desk; what they scored
/// is read beside it.
struct OwnRaters {
  std::vector<RaterId> ids{};
  std::string store{};  ///< path
  base::Time now{};
};
OwnRaters own_raters(Visit& visit);

struct CheckedRater {
  RaterId rater;
  store::Checked checked;
};

/// Gives what may decide about each, one rater after the other, over a connection of its own: arithmetic.
/// Whoever has none is passed over. Returns how many were not reached: it reads for 20 seconds at most.
std::size_t each_own_rater(const OwnRaters& own, const std::function<void(const CheckedRater&)>& give);

/// Whose decision is another one, with both in words; how many stay; how many were not looked at. Of whom no
/// score stands beside a key nothing is decided. Long arithmetic.
Json changes_json(const OwnRaters& own,
                  const std::function<Result<calibration::DecisionChanges>(const CheckedRater&)>& changes_of);

/// The same, when the keys of an instrument are those of another library, by the standard in force in the one
/// before. Null: that standard does not decide on this instrument, or one of the two has no keys.
Json changes_between(const cases::Library& before, const cases::Library& after,
                     const InstrumentId& instrument, const OwnRaters& own);

}  // namespace evenhand::server
