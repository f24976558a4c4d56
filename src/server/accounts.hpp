#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "base/error.hpp"
#include "server/rate_limit.hpp"
#include "server/route.hpp"

namespace evenhand::server {

/// How long one is signed in: until nothing was asked for `idle` long, at most `whole` long.
struct SessionSpan {
  std::chrono::seconds idle;
  std::chrono::seconds whole;
};

/// A student comes back to the same phone between two classes; who can open groups and reset passphrases
/// signs in each day.
inline constexpr SessionSpan student_span{std::chrono::hours(24), std::chrono::days(7)};
inline constexpr SessionSpan staff_span{std::chrono::hours(2), std::chrono::hours(12)};
constexpr SessionSpan span_of(Role role) { return role == Role::student ? student_span : staff_span; }

/// What the routes of accounts share.
struct Accounts {
  /// `secure`: the browser reaches the site over TLS or on the same machine. Without it the cookie travels in
  /// the open, and under another name.
  explicit Accounts(bool secure);

  const bool secure;
  RateLimiter limits{};
  /// Of a passphrase nobody has: what is tried for a rater who has no account, so that it takes as long.
  const std::string hash_of_nobody;
};

/// `__Host-evenhand`, which a browser takes from this very host and over TLS only; `evenhand` without TLS.
std::string_view cookie_name(const Accounts& accounts);

/// The session's token among the cookies of a request; empty: none.
std::string token_in(const Request& request, const Accounts& accounts);

/// Whoever the token belongs to, while the session's time is not over. Notes that the rater was there.
std::optional<Who> who_is(const std::string& token, store::Store& store, base::Time now);

/// Begins a session for the rater, ends the one the browser had, and says so: the cookie, and the body of
/// /api/me.
Result<Response> signed_in(const Request& request, Visit& visit, const Accounts& accounts,
                           const RaterId& rater, Role role);

/// Takes the cookie back from the browser.
void drop_cookie(Response& response, const Accounts& accounts);

/// {rater, role, groups, session: {ends, idle_seconds}}: it ends at that time at the latest, and when nothing
/// was asked for so long. `begun`: when the session was.
std::string me_text(store::Store& store, const RaterId& rater, Role role, base::Time begun);

/// The same of whoever is signed in.
std::string me_text(Visit& visit);

/// A rater id as somebody typed it: spaces around it go, capitals become small letters (phones put one
/// first). Errors: invalid  not 2 to 40 of a-z, 0-9, ".", "_" and "-", beginning with a letter or digit; or
/// the word
///                  that names the reference key
Result<RaterId> read_rater(std::string_view typed);

/// 429 with Retry-After.
Response too_many(std::chrono::seconds wait);

}  // namespace evenhand::server
