#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/accounts.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// Names a session to its owner; opens nothing.
using SessionId = base::Id<struct SessionTag>;

/// A rater signed in on one device. The token itself stays with the device.
struct Session {
  SessionId id;  ///< see `new_uuid`
  std::string token_hash;
  RaterId rater;
  base::Time begun;
  base::Time seen;  ///< to the minute, see `touch_session`

  friend bool operator==(const Session&, const Session&) = default;
};

/// Who a token belongs to.
struct SignedIn {
  Session session;
  Role role = Role::student;

  friend bool operator==(const SignedIn&, const SignedIn&) = default;
};

/// Errors: not_found  the rater has no account
///         conflict   the id or the hash is taken
///         invalid    no id, no hash, or last seen before it began
Result<void> begin_session(Store& store, const Session& session);

/// Errors: not_found  no session has that token
Result<SignedIn> session(Store& store, const std::string& token_hash);

/// Notes that the rater was there, at most once a minute, so most requests write nothing.
/// An unknown session is no error: it was ended meanwhile.
void touch_session(Store& store, const SessionId& id, base::Time at);

/// Errors: not_found  the rater has no such session (another's is as good as none)
Result<void> end_session(Store& store, const RaterId& rater, const SessionId& id);

/// Ends the sessions of a rater, all `except` one. Returns how many.
std::size_t end_sessions_of(Store& store, const RaterId& rater, const std::optional<SessionId>& except = {});

/// The latest begun first.
std::vector<Session> sessions_of(Store& store, const RaterId& rater);

/// Ends sessions that began or were last seen before a time. Returns how many.
std::size_t purge_sessions(Store& store, base::Time begun_before, base::Time seen_before);

}  // namespace evenhand::store
