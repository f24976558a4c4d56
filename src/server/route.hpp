#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "base/id.hpp"
#include "base/random.hpp"
#include "base/time.hpp"
#include "cases/library.hpp"
#include "cases/source_file.hpp"
#include "server/http.hpp"
#include "store/accounts.hpp"
#include "store/sessions.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// Who may ask for it.
enum class Access : std::uint8_t {
  anyone,
  signed_in,   ///< any account
  instructor,  ///< an instructor or the department's lead
};

using store::Role;

/// Who asks: the account behind the session.
struct Who {
  RaterId rater;
  Role role = store::Role::student;
  store::SessionId session{};
};

/// What one request works with.
struct Visit {
  store::Store&
      store;  ///< inside the transaction of the batch: what is written is on the disk before anybody
              ///< hears of it, and undone when the answer is a refusal (status 400 and above)
  const cases::Library& library;
  std::optional<Who> who{};  ///< whoever is signed in; present where the route asks for an account
  base::Time now;
  base::Random& random;  ///< for ids, not for secrets
  bool erased = false;   ///< somebody was: what the store's log still holds of them goes with the batch
  std::shared_ptr<const cases::Library> held_library{};  ///< the same, for arithmetic that outlives the visit
  const std::vector<cases::SourceFile>* started_with =
      nullptr;  ///< the department's files on the disk, if any
  /// Set by who changed what the department wrote: served from the end of the batch on, once it is on the
  /// disk.
  std::shared_ptr<const cases::Library> next_library{};
  bool library_is_going =
      false;  ///< another one was set so in this batch: `library` is served to its end only
};

using Handler = std::function<Response(const Request&, Visit&)>;

/// Long arithmetic (a passphrase's hash, the result of a round, what a ruling changes, a file of scores)
/// between two visits to the store: done on a thread of its own, and gives what to do at the second visit. It
/// must not touch the store of the visit; to read much it has a connection of its own (own_connection.hpp).
using Arithmetic = std::function<Handler()>;
using Opening = std::function<std::variant<Response, Arithmetic>(const Request&, Visit&)>;

/// One line of the table of everything the site answers to: a plain function of request and visit, run on the
/// thread that owns the store.
struct Route {
  std::string method;
  std::string pattern;  ///< "/api/sittings/{id}/cases/{case}": a name in braces takes one segment
  Access access = Access::signed_in;
  Handler handler{};
  std::size_t body_limit = 64 * 1024;  ///< bytes
  Opening opening{};                   ///< in place of `handler` where there is long arithmetic
};

}  // namespace evenhand::server
