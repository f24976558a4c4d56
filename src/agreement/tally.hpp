#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace evenhand::agreement {

/// How often each of some slots comes up, where it mostly is the same one again: four counts in turn, as a
/// count that waits for the one before it takes several times as long. Each holds up to 2^32 - 1.
class Tally {
 public:
  explicit Tally(std::size_t slots) { clear(slots); }

  /// Back to nothing, with so many slots.
  void clear(std::size_t slots) {
    slots_ = slots;
    counts_.assign(lanes * slots, 0);
  }
  /// slot_of  the slot of the i-th of n
  template <class SlotOf>
  void add(std::size_t n, SlotOf slot_of) {
    std::uint32_t* const a = counts_.data();
    std::uint32_t *const b = a + slots_, *const c = b + slots_, *const d = c + slots_;
    std::size_t i = 0;
    for (; i + lanes <= n; i += lanes) {
      ++a[slot_of(i)];
      ++b[slot_of(i + 1)];
      ++c[slot_of(i + 2)];
      ++d[slot_of(i + 3)];
    }
    for (; i < n; ++i) ++a[slot_of(i)];
  }
  std::size_t at(std::size_t slot) const {
    return std::size_t{counts_[slot]} + counts_[slots_ + slot] + counts_[2 * slots_ + slot] +
           counts_[3 * slots_ + slot];
  }

 private:
  static constexpr std::size_t lanes = 4;
  std::size_t slots_ = 0;
  std::vector<std::uint32_t> counts_;
};

}  // namespace evenhand::agreement
