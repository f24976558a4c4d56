#include "cli/clock.hpp"

#include <chrono>
#include <random>

namespace evenhand::cli {

base::Time now() { return std::chrono::floor<std::chrono::milliseconds>(std::chrono::system_clock::now()); }

std::uint64_t fresh_seed() {
  std::random_device device;
  return (std::uint64_t{device()} << 32U) | device();
}

}  // namespace evenhand::cli
