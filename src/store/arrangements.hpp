#pragma once

#include <chrono>
#include <optional>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// The most that may be arranged: a year.
constexpr std::chrono::minutes most_more_time = std::chrono::hours(24 * 366);

/// What an instructor arranged with one member of a group. Changed by the next one; why is not kept.
struct Arrangement {
  GroupId group;
  RaterId rater;
  /// Sets given to this group stay open to the rater for so long after they closed for the others.
  std::chrono::minutes more_time{0};
  /// Answers to trials that the rater takes in their described form are accepted as they come.
  bool described = false;
  std::optional<RaterId> by{};  ///< absent: erased since
  base::Time at;

  friend bool operator==(const Arrangement&, const Arrangement&) = default;
};

/// In force from its time on, in place of an earlier one. The same again: nothing changes.
/// Errors: not_found  no such group, the rater is no member of it, or `by` is absent or not known
///         invalid    less than no more time, or more than `most_more_time`
Result<void> arrange(Store& store, const Arrangement& one);

/// What is in force. Nothing: nothing was ever arranged.
std::optional<Arrangement> arrangement_of(Store& store, const GroupId& group, const RaterId& rater);

/// Those in force in a group that arrange something, in the order of the raters' ids.
std::vector<Arrangement> arrangements_in(Store& store, const GroupId& group);

/// Everything that was ever arranged with the rater, or by them, in order.
std::vector<Arrangement> arrangements_about(Store& store, const RaterId& rater);

/// Whether answers to trials in their described form are accepted as they come, by an arrangement in any of
/// the rater's groups.
bool accepts_described(Store& store, const RaterId& rater);

}  // namespace evenhand::store
