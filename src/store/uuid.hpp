#pragma once

#include <string>

#include "base/random.hpp"
#include "base/time.hpp"

namespace evenhand::store {

/// A new id: a UUID of version 7 (RFC 9562, section 5.7), so ids sort by the time they were made.
/// The source must be seeded afresh for every process (64 bits), else two processes make the same id.
/// No secret: who knows one id can guess at others.
std::string new_uuid(base::Time at, base::Random& random);

}  // namespace evenhand::store
