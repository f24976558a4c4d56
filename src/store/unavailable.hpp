#pragma once

#include <stdexcept>
#include <string>

namespace evenhand::store {

/// The surroundings of a store failed: disk full, no permission, locked by another program past the time-out,
/// damaged while open. What was acknowledged before stands; what was under way is not in the store.
class Unavailable : public std::runtime_error {
 public:
  explicit Unavailable(const std::string& what) : std::runtime_error(what) {}
};

}  // namespace evenhand::store
