#pragma once

#include <string>

#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// The store over a connection of its own, for arithmetic that reads more than everybody can wait for: the
/// thread of the store goes on serving meanwhile. It sees what is on the disk, so not what the visit wrote
/// that began the arithmetic, and it is to be read from only.
/// Throws Unavailable where it cannot be opened.
store::Store own_connection(const std::string& path, base::Time now);

}  // namespace evenhand::server
