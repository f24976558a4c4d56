#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace evenhand::instrument {

/// What to say about a word that is not known: "did you mean `x`?", or the words that are.
std::string offer(std::string_view word, std::span<const std::string> known);

/// The ids of a list of things, for `offer`.
template <class List>
std::vector<std::string> ids_of(const List& list) {
  std::vector<std::string> ids;
  for (const auto& thing : list) ids.push_back(thing.id);
  return ids;
}

/// "a", "a and b", "a, b and c".
std::string joined(std::span<const std::string> parts, std::string_view last = "and");

}  // namespace evenhand::instrument
