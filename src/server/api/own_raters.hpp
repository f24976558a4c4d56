#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "calibration/changed_decisions.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/checked_scores.hpp"

namespace evenhand::server {

struct CheckedRater {
  RaterId rater;
  store::Checked checked;
};

struct OwnRaters {
  std::vector<CheckedRater> raters;
  std::size_t not_reached = 0;  ///< reading them would have held up everybody for too long
};

/// Of the groups that the reader looks after, a lead of all: what may decide about each member. Read at the
/// desk, for under a second.
OwnRaters own_raters(Visit& visit);

/// Whose decision is another one, with both in words; how many stay; how many were not looked at. Of whom no
/// score stands beside a key nothing is decided. Long arithmetic.
Json changes_json(const OwnRaters& own,
                  const std::function<Result<calibration::DecisionChanges>(const CheckedRater&)>& changes_of);

}  // namespace evenhand::server
