#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// Raters who practice together, and who looks after them.
struct Group {
  GroupId id;  ///< see `new_uuid`
  std::string title;
  RaterId owner;
  base::Time made;
  std::optional<std::string> code{};       ///< with it a rater joins; absent: closed
  std::optional<base::Time> code_until{};  ///< the code is good before this; present with a code
  std::optional<std::size_t> seats{};      ///< absent: no limit

  friend bool operator==(const Group&, const Group&) = default;
};

struct Member {
  RaterId rater;
  base::Time joined;
  std::optional<base::Time> seen{};  ///< on any device, also when signed out since; absent: never signed in

  friend bool operator==(const Member&, const Member&) = default;
};

/// Errors: not_found  the owner has no account
///         conflict   the id, or the code, is taken (also by a group whose code ran out)
///         invalid    no id, title or code, more than 200 bytes of title, a code without its end, no seats
Result<void> add_group(Store& store, const Group& group);

/// Errors: not_found
Result<Group> group(Store& store, const GroupId& id);

/// The groups a rater looks after, in the order they were made.
std::vector<Group> groups_of(Store& store, const RaterId& owner);

/// Every group, in the order they were made.
std::vector<Group> all_groups(Store& store);

/// The groups a rater has joined, in the order they were made.
std::vector<Group> groups_of_member(Store& store, const RaterId& rater);

/// Errors: not_found  no group takes that code: unknown, closed, or run out; the message does not say which
Result<Group> group_with_code(Store& store, const std::string& code, base::Time now);

/// A new code in place of the old one.
/// Errors: not_found  no such group
///         conflict   another group has the code; take another
///         invalid    no code
Result<void> set_code(Store& store, const GroupId& id, const std::string& code, base::Time until);

/// Nobody joins with the old code any more. Closed already: nothing changes.
/// Errors: not_found
Result<void> close_code(Store& store, const GroupId& id);

/// Joined already: nothing changes.
/// Errors: not_found  no such group, or the rater has no account
///         conflict   every seat is taken
Result<void> join_group(Store& store, const GroupId& id, const RaterId& rater, base::Time at);

/// In the order they joined.
/// Errors: not_found
Result<std::vector<Member>> members(Store& store, const GroupId& id);

}  // namespace evenhand::store
