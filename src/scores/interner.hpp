#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/id.hpp"

namespace evenhand::scores {

inline std::string_view text_in(const std::string& text) { return text; }
template <class Tag>
std::string_view text_in(const base::Id<Tag>& id) {
  return id.text();
}

/// Numbers names 0, 1, 2, ... in order of first appearance. T is std::string or an Id.
/// Open addressing: a file of scores asks for four names a row.
template <class T>
class Interner {
 public:
  struct Found {
    std::uint32_t index;
    bool first;  ///< the name had not been seen before
  };

  Found intern(std::string_view name) {
    if (2 * (values_.size() + 1) > slots_.size()) grow();
    const std::uint32_t hash = hash_of(name);
    std::size_t at = hash & (slots_.size() - 1);
    for (; slots_[at].next != 0; at = (at + 1) & (slots_.size() - 1))
      if (slots_[at].hash == hash && text_in(values_[slots_[at].next - 1]) == name)
        return {slots_[at].next - 1, false};
    values_.emplace_back(std::string(name));
    slots_[at] = {hash, static_cast<std::uint32_t>(values_.size())};
    return {static_cast<std::uint32_t>(values_.size() - 1), true};
  }

  const std::vector<T>& values() const { return values_; }
  std::vector<T> take() && { return std::move(values_); }

 private:
  struct Slot {
    std::uint32_t hash = 0;
    std::uint32_t next = 0;  ///< index + 1; 0: free
  };

  static std::uint32_t hash_of(std::string_view name) {
    const std::size_t hash = std::hash<std::string_view>{}(name);
    return static_cast<std::uint32_t>(hash ^ (hash >> 32));
  }

  void grow() {
    std::vector<Slot> old(slots_.empty() ? 16 : 2 * slots_.size());
    old.swap(slots_);
    for (const Slot& slot : old) {
      if (slot.next == 0) continue;
      std::size_t at = slot.hash & (slots_.size() - 1);
      while (slots_[at].next != 0) at = (at + 1) & (slots_.size() - 1);
      slots_[at] = slot;
    }
  }

  std::vector<T> values_;
  std::vector<Slot> slots_;  // a power of two, at most half full
};

}  // namespace evenhand::scores
