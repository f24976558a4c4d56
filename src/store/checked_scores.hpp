#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "scores/score_table.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// What may decide about a rater: imported scores, and what was answered in skills checks that are handed in
/// and in rounds that are closed. Practice never does.
struct Checked {
  scores::ScoreTable table{};       ///< empty: there is nothing
  std::vector<Sitting> sittings{};  ///< whose answers are among them, in the order they were begun
};

/// Errors: invalid  the scores do not fit into one table (see `Store::scores`)
Result<Checked> checked_scores(Store& store, const RaterId& rater);

/// What the members of a group have been doing.
struct Activity {
  RaterId rater;
  base::Time joined;
  std::optional<base::Time> seen{};
  std::size_t finished = 0;  ///< sittings of any mode
  std::size_t open = 0;
  std::size_t checks = 0;                  ///< sittings that `checked_scores` counts
  std::optional<base::Time> open_since{};  ///< of the open sitting begun first

  friend bool operator==(const Activity&, const Activity&) = default;
};

/// In the order they joined. Errors: not_found
Result<std::vector<Activity>> activity(Store& store, const GroupId& group);

/// Changes with every import, every import that is undone, and every round that is closed or opened again:
/// with `Activity::checks` it tells whether what `checked_scores` gives is still the same.
std::string checked_stamp(Store& store);

}  // namespace evenhand::store
