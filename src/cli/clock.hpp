#pragma once

#include <cstdint>

#include "base/time.hpp"

namespace evenhand::cli {

/// The time now. Only here does the program ask the machine for it; everything below is told.
base::Time now();

/// A seed from the operating system, for when none was given.
std::uint64_t fresh_seed();

}  // namespace evenhand::cli
