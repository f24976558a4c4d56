#pragma once

#include <chrono>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/sitting.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// A set given to a group: when it may be answered, and how often. Never changed but by being withdrawn.
struct Assignment {
  std::string id;  ///< see `new_uuid`
  GroupId group;
  SetId set;
  Mode mode = Mode::practice;  ///< practice or skills_check: when the reasons are shown
  base::Time opens;
  base::Time closes;  ///< answers are taken before this
  std::size_t attempts = 1;
  base::Time made;
  std::optional<base::Time> withdrawn{};
  /// Arranged with the rater and added to `closes`; only where a rater is asked for.
  std::chrono::minutes more_time{0};

  bool open_at(base::Time now) const { return !withdrawn && opens <= now && now < closes; }
  friend bool operator==(const Assignment&, const Assignment&) = default;
};

/// Errors: not_found  no such group
///         conflict   the id is taken
///         invalid    no id or set, it closes before it opens, no attempt, or a mode that is not assigned
Result<void> add_assignment(Store& store, const Assignment& assignment);

/// Errors: not_found
Result<Assignment> assignment(Store& store, const std::string& id);

/// Those of a group, withdrawn ones too, in the order they were made.
std::vector<Assignment> assignments_of_group(Store& store, const GroupId& group);

/// Those of every group the rater has joined, without withdrawn ones, as they close for this rater; what
/// closes first comes first.
std::vector<Assignment> assignments_of_member(Store& store, const RaterId& rater);

/// Withdrawn already: nothing changes. Sittings that were begun go on until it would have closed.
/// Errors: not_found
Result<void> withdraw(Store& store, const std::string& id, base::Time at);

/// Counts a sitting as an attempt at an assignment; from then on it takes answers before the assignment
/// closes. Counted already: nothing changes. Errors: not_found  no such sitting or assignment
Result<void> count_as_attempt(Store& store, const SittingId& sitting, const std::string& assignment);

/// What a sitting is an attempt at, and when it closes for its rater.
struct Attempt {
  std::string assignment;  ///< empty: it is gone, with its group
  base::Time closes;
};

/// Nothing: the sitting was not assigned.
std::optional<Attempt> attempt_of(Store& store, const SittingId& sitting);

/// The rater's sittings at an assignment, in the order they were begun.
std::vector<SittingId> attempts_at(Store& store, const std::string& assignment, const RaterId& rater);

}  // namespace evenhand::store
