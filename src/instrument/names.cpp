#include "instrument/names.hpp"

#include <fmt/format.h>

#include "base/nearest.hpp"

namespace evenhand::instrument {

std::string offer(std::string_view word, std::span<const std::string> known) {
  // One letter away from `9` lies every other label: too short a word is no slip of the pen.
  constexpr std::size_t shortest = 3;
  if (word.size() >= shortest)
    if (const auto near = base::nearest(word, known)) return fmt::format("did you mean `{}`?", *near);
  if (known.empty()) return "there is none to name";
  return fmt::format("known here: {}", fmt::join(known, ", "));
}

std::string joined(std::span<const std::string> parts, std::string_view last) {
  std::string text;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i > 0) text += i + 1 == parts.size() ? fmt::format(" {} ", last) : ", ";
    text += parts[i];
  }
  return text;
}

}  // namespace evenhand::instrument
