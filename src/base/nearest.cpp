#include "base/nearest.hpp"

#include <algorithm>
#include <vector>

namespace evenhand::base {
namespace {

// Optimal string alignment distance.
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replace = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({replace, last[j] + 1, row[j - 1] + 1});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before.swap(last);
    last.swap(row);
  }
  return last[b.size()];
}

}  // namespace

std::optional<std::string> nearest(std::string_view word, std::span<const std::string> known) {
  constexpr std::size_t longest = 100;  // a word past this was never meant to be a key
  if (word.size() > longest) return std::nullopt;
  std::optional<std::string> best;
  std::size_t best_distance = 0;
  for (const auto& candidate : known) {
    const std::size_t allowed = std::max<std::size_t>(1, std::max(word.size(), candidate.size()) / 3);
    const std::size_t d = distance(word, candidate);
    if (d <= allowed && (!best || d < best_distance)) {
      best = candidate;
      best_distance = d;
    }
  }
  return best;
}

}  // namespace evenhand::base
