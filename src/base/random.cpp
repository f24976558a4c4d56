#include "base/random.hpp"

#include <cassert>
#include <cmath>
#include <limits>

namespace evenhand::base {
namespace {

// SplitMix64 (Steele, Lea & Flood 2014): spreads neighbouring seeds over the state space.
constexpr std::uint64_t golden = 0x9e3779b97f4a7c15ULL;

std::uint64_t mix(std::uint64_t x) {
  x += golden;
  x = (x ^ (x >> 30U)) * 0xbf58476d1ce4e5b9ULL;
  x = (x ^ (x >> 27U)) * 0x94d049bb133111ebULL;
  return x ^ (x >> 31U);
}

}  // namespace

Random::Random(std::uint64_t seed, std::uint64_t stream) : engine_(mix(mix(seed) ^ (stream * 2 + 1))) {}

double Random::uniform() { return static_cast<double>(engine_() >> 11U) * 0x1.0p-53; }

std::size_t Random::index(std::size_t n) {
  assert(n >= 1);
  const std::uint64_t range = n;
  const std::uint64_t limit =
      std::numeric_limits<std::uint64_t>::max() - std::numeric_limits<std::uint64_t>::max() % range;
  std::uint64_t draw = engine_();
  while (draw >= limit) draw = engine_();
  return static_cast<std::size_t>(draw % range);
}

double Random::normal(double mean, double sd) {
  if (has_spare_) {
    has_spare_ = false;
    return mean + sd * spare_;
  }
  double u = 0.0, v = 0.0, s = 0.0;
  do {
    u = 2.0 * uniform() - 1.0;
    v = 2.0 * uniform() - 1.0;
    s = u * u + v * v;
  } while (s >= 1.0 || s == 0.0);
  const double scale = std::sqrt(-2.0 * std::log(s) / s);
  spare_ = v * scale;
  has_spare_ = true;
  return mean + sd * u * scale;
}

SplitMix::SplitMix(std::uint64_t seed, std::uint64_t stream) : state_(mix(mix(seed) ^ (stream * 2 + 1))) {}

std::uint64_t SplitMix::next() {
  const std::uint64_t out = mix(state_);
  state_ += golden;
  return out;
}

std::size_t SplitMix::index(std::size_t n) {
  assert(n >= 1 && n <= 0xFFFFFFFFU);
  const auto range = static_cast<std::uint32_t>(n);
  std::uint64_t product = (next() >> 32U) * range;
  if (static_cast<std::uint32_t>(product) < range) {
    const std::uint32_t too_often = (0U - range) % range;
    while (static_cast<std::uint32_t>(product) < too_often) product = (next() >> 32U) * range;
  }
  return static_cast<std::size_t>(product >> 32U);
}

}  // namespace evenhand::base
