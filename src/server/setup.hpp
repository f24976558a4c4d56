#pragma once

#include <optional>
#include <string>

#include "base/error.hpp"
#include "base/time.hpp"
#include "server/net.hpp"
#include "server/site.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// A one-time token that makes the first instructor, good for a day, in place of any given before; nothing
/// when somebody looks after the site already.
Result<std::optional<std::string>> setup_token(store::Store& store, base::Time now);

/// A one-time token that makes one more instructor, good for a day.
Result<std::string> invitation_token(store::Store& store, base::Time now);

/// A one-time code with which a rater chooses a new passphrase, good for a day, in place of any given before:
/// for instructors and leads, whom nobody on the site resets. Errors: not_found  nobody signs in by that id
Result<std::string> passphrase_code(store::Store& store, const RaterId& rater, base::Time now);

/// The site as what answers on a socket.
Service service_of(Site& site);

}  // namespace evenhand::server
