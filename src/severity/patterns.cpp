#include "severity/patterns.hpp"

#include <algorithm>
#include <cstdint>
#include <unordered_map>

namespace evenhand::severity {
namespace {

struct SameScores {
  std::size_t operator()(std::span<const Score> scores) const {
    std::uint64_t hash = scores.size();
    for (const Score& s : scores)
      for (const std::uint64_t part : {s.rater, s.item, s.level})
        hash = (hash ^ part) * 0x9E3779B97F4A7C15U ^ (hash >> 29U);
    return static_cast<std::size_t>(hash);
  }
  bool operator()(std::span<const Score> a, std::span<const Score> b) const {
    return std::ranges::equal(a, b, [](const Score& x, const Score& y) {
      return x.rater == y.rater && x.item == y.item && x.level == y.level;
    });
  }
};

}  // namespace

Patterns patterns_of(const Design& design) {
  Patterns patterns;
  std::unordered_map<std::span<const Score>, std::size_t, SameScores, SameScores> known;
  const std::span<const Score> all(design.scores);
  for (std::size_t begin = 0; begin < all.size();) {
    std::size_t end = begin + 1;
    while (end < all.size() && all[end].case_ == all[begin].case_) ++end;
    const auto scores = all.subspan(begin, end - begin);
    const auto [at, is_new] = known.try_emplace(scores, patterns.list.size());
    if (is_new) patterns.list.push_back({scores, 0});
    ++patterns.list[at->second].cases;
    patterns.of_case.push_back(at->second);
    begin = end;
  }
  return patterns;
}

}  // namespace evenhand::severity
