#pragma once

#include <cstddef>
#include <cstdint>
#include <random>
#include <span>
#include <utility>

namespace evenhand::base {

/// A reproducible source of random numbers. The engine of the standard library is
/// specified to the bit, its distributions are not, so the draws are our own: the same
/// seed gives the same numbers with every compiler.
class Random {
 public:
  /// `stream` makes independent sources from one seed (a rater, a bootstrap replicate),
  /// so that results do not depend on the order of work or the number of threads.
  explicit Random(std::uint64_t seed, std::uint64_t stream = 0);

  /// Uniform in [0, 1), 53 bits.
  double uniform();
  /// Uniform in {0, ..., n - 1}, without modulo bias; n >= 1.
  std::size_t index(std::size_t n);
  /// True with probability p.
  bool chance(double p) { return uniform() < p; }
  /// Normal with the given mean and standard deviation (polar method of Marsaglia).
  double normal(double mean = 0.0, double sd = 1.0);

  /// Fisher-Yates.
  template <class T>
  void shuffle(std::span<T> values) {
    for (std::size_t i = values.size(); i > 1; --i) std::swap(values[i - 1], values[index(i)]);
  }

 private:
  std::mt19937_64 engine_;
  double spare_ = 0.0;
  bool has_spare_ = false;
};

/// A source with a state of eight bytes, for work that needs a stream of its own ten thousand times over
/// (SplitMix64: Steele, Lea & Flood 2014, OOPSLA, 453-472).
class SplitMix {
 public:
  explicit SplitMix(std::uint64_t seed, std::uint64_t stream = 0);

  /// Uniform in {0, ..., n - 1}, without bias; 1 <= n < 2^32 (Lemire 2019, ACM TOMACS 29(1):3).
  std::size_t index(std::size_t n);

 private:
  std::uint64_t next();
  std::uint64_t state_;
};

}  // namespace evenhand::base
