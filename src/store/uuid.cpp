#include "store/uuid.hpp"

#include <cstdint>

#include <fmt/format.h>

namespace evenhand::store {

std::string new_uuid(base::Time at, base::Random& random) {
  const auto milliseconds = static_cast<std::uint64_t>(at.time_since_epoch().count()) & 0xFFFF'FFFF'FFFFU;
  const auto bits = [&](std::size_t n) { return random.index(std::size_t{1} << n); };
  const auto rand_a = bits(12);
  const auto rand_b_high = 0x8000U | bits(14);  // the variant, then 14 random bits
  return fmt::format("{:08x}-{:04x}-7{:03x}-{:04x}-{:06x}{:06x}", milliseconds >> 16, milliseconds & 0xFFFFU,
                     rand_a, rand_b_high, bits(24), bits(24));
}

}  // namespace evenhand::store
