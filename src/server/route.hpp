#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/id.hpp"
#include "base/random.hpp"
#include "base/time.hpp"
#include "cases/library.hpp"
#include "server/http.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// Who may ask for it.
enum class Access : std::uint8_t {
  anyone,
  signed_in,   ///< any account
  instructor,  ///< an instructor or the department's lead
};

enum class Role : std::uint8_t { student, instructor, lead };

/// Who asks: the account behind the session.
struct Who {
  RaterId rater;
  Role role = Role::student;
};

/// What one request works with.
struct Visit {
  store::Store&
      store;  ///< inside the transaction of the batch: what is written is kept before anybody hears of it
  const cases::Library& library;
  std::optional<Who> who{};  ///< present where the route asks for an account
  base::Time now;
  base::Random& random;  ///< for ids, not for secrets
};

using Handler = std::function<Response(const Request&, Visit&)>;

/// One line of the table of everything the site answers to. Every route but those of accounts is a plain
/// function of request and visit, run on the thread that owns the store.
struct Route {
  std::string method;
  std::string pattern;  ///< "/api/sittings/{id}/cases/{case}": a name in braces takes one segment
  Access access = Access::signed_in;
  Handler handler;
  std::size_t body_limit = 64 * 1024;  ///< bytes
};

}  // namespace evenhand::server
