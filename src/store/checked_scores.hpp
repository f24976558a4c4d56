#pragma once

#include <cstddef>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "scores/score_table.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// What may decide about a rater: imported scores, and what was answered in skills checks and rounds that are
/// over. Practice never does, nor do live pairs, which have no key, nor cases that the rater knew
/// before: see `met_before`. A skills check is over when it was handed in, or when the window it was
/// assigned with is; a round when it is closed. From then on an open sitting with an answer counts as if it
/// were handed in: else whoever does badly would leave it open. In a round that the store does not know, what
/// was handed in counts.
struct Checked {
  scores::ScoreTable table{};       ///< empty: there is nothing
  std::vector<Sitting> sittings{};  ///< whose answers are among them, in the order they were begun
  /// Cases that were left out, because the rater knew them before the check was over: had answered an item of
  /// them in practice, and seen its reason, or had scored them for their key, or written them. Of imported
  /// scores the time that stands with them tells; one without a time is not left out.
  std::set<CaseId> met_before{};
};

/// Errors: invalid  the scores do not fit into one table (see `Store::scores`)
Result<Checked> checked_scores(Store& store, const RaterId& rater, base::Time now);

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
Result<std::vector<Activity>> activity(Store& store, const GroupId& group, base::Time now);

/// With `Activity::checks` it tells whether what `checked_scores` gives is still the same.
struct CheckedStamp {
  std::string text;        ///< other with every import and undoing, every round closed or opened again, every
                           ///< word on a trial in its described form
  std::size_t erased = 0;  ///< people so far: ids of theirs may be others' now

  friend bool operator==(const CheckedStamp&, const CheckedStamp&) = default;
};

CheckedStamp checked_stamp(Store& store);

}  // namespace evenhand::store
