#pragma once

#include <vector>

#include "base/time.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/sign_offs.hpp"

namespace evenhand::server {

/// Only the latest version can be in force: a correction takes the place of all before it.
Json sign_off_json(const store::SignOff& one, bool latest, base::Time now);

std::vector<Route> sign_off_routes();

}  // namespace evenhand::server
