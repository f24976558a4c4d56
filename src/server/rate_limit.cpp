#include "server/rate_limit.hpp"

#include <arpa/inet.h>

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace evenhand::server {

std::optional<std::chrono::seconds> RateLimiter::look(const std::string& name, Rate rate, base::Time now,
                                                      double wanted) {
  const std::lock_guard lock(mutex_);
  const auto known = by_name_.find(name);
  if (known == by_name_.end()) {
    buckets_.push_front({name, rate.at_once, now});
    by_name_.emplace(buckets_.front().name, buckets_.begin());
    if (buckets_.size() > most_) {
      by_name_.erase(buckets_.back().name);
      buckets_.pop_back();
    }
  } else {
    buckets_.splice(buckets_.begin(), buckets_, known->second);
  }
  Bucket& bucket = buckets_.front();
  const std::chrono::duration<double, std::ratio<60>> minutes = now - bucket.at;
  bucket.tokens = std::min(rate.at_once, bucket.tokens + std::max(minutes.count(), 0.0) * rate.per_minute);
  bucket.at = now;
  if (bucket.tokens >= 1.0) {
    bucket.tokens -= wanted;
    return std::nullopt;
  }
  return std::chrono::seconds(
      std::max(1L, static_cast<long>(std::ceil((1.0 - bucket.tokens) / rate.per_minute * 60.0))));
}

std::optional<std::chrono::seconds> RateLimiter::take(const std::string& name, Rate rate, base::Time now) {
  return look(name, rate, now, 1.0);
}

std::optional<std::chrono::seconds> RateLimiter::wait_for(const std::string& name, Rate rate,
                                                          base::Time now) {
  return look(name, rate, now, 0.0);
}

std::string network_of(const std::string& address) {
  std::array<unsigned char, 16> bytes{};
  if (inet_pton(AF_INET6, address.c_str(), bytes.data()) != 1) return address;
  // An IPv4 address written as one of IPv6, as some proxies do.
  constexpr std::string_view mapped = "::ffff:";
  if (address.starts_with(mapped) && address.find('.') != std::string::npos)
    return address.substr(mapped.size());
  std::string network;
  for (std::size_t i = 0; i < 8; ++i) network += fmt::format("{:02x}", bytes[i]);
  return network + "/64";
}

}  // namespace evenhand::server
