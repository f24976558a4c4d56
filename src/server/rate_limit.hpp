#pragma once

#include <chrono>
#include <cstddef>
#include <list>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>

#include "base/time.hpp"

namespace evenhand::server {

/// So many at once, and so many a minute from then on.
struct Rate {
  double at_once;
  double per_minute;
};

/// Token buckets by name ("sign-in of ann from 192.0.2.7"). It slows down, it never locks anybody out. Of
/// names beyond `most` the one used longest ago is forgotten. For all threads.
class RateLimiter {
 public:
  explicit RateLimiter(std::size_t most = 65536) : most_(most) {}

  /// Takes one. Nothing: go on; else wait that long, and nothing was taken.
  std::optional<std::chrono::seconds> take(const std::string& name, Rate rate, base::Time now);

  /// What `take` would say.
  std::optional<std::chrono::seconds> wait_for(const std::string& name, Rate rate, base::Time now);

 private:
  struct Bucket {
    std::string name;
    double tokens;
    base::Time at;
  };
  std::optional<std::chrono::seconds> look(const std::string& name, Rate rate, base::Time now, double wanted);

  const std::size_t most_;
  std::mutex mutex_;
  std::list<Bucket> buckets_;  // used last in front
  std::unordered_map<std::string_view, std::list<Bucket>::iterator> by_name_;
};

/// What stands for an address where addresses are counted: of IPv6 the first 64 bits, which one household
/// has; others as they are.
std::string network_of(const std::string& address);

}  // namespace evenhand::server
