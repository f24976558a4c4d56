#include "stats/correlation.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <utility>
#include <vector>

#include "stats/moments.hpp"
#include "stats/ranks.hpp"

namespace evenhand::stats {
namespace {

Result<void> check(std::span<const double> first, std::span<const double> second) {
  if (first.size() != second.size())
    return fail(Errc::invalid, "{} values beside {}: a correlation needs pairs", first.size(), second.size());
  if (first.size() < 2) return fail(Errc::undefined, "fewer than two pairs of values: no correlation");
  return {};
}

constexpr const char* no_spread = "all values of a column are equal: no correlation";

using Pairs = std::vector<std::pair<double, double>>;

double pairs_of(double n) { return n * (n - 1.0) / 2.0; }

/// Pairs of neighbors that `same` joins, group by group.
template <class Same>
double tied_pairs(const Pairs& pairs, Same same) {
  double tied = 0.0;
  for (std::size_t i = 0; i < pairs.size();) {
    std::size_t end = i + 1;
    while (end < pairs.size() && same(pairs[end - 1], pairs[end])) ++end;
    tied += pairs_of(static_cast<double>(end - i));
    i = end;
  }
  return tied;
}

/// Pairs whose second values stand in falling order; sorts by the second value.
double inversions(Pairs& pairs) {
  double swaps = 0.0;
  Pairs merged(pairs.size());
  for (std::size_t width = 1; width < pairs.size(); width *= 2) {
    for (std::size_t begin = 0; begin < pairs.size(); begin += 2 * width) {
      const std::size_t middle = std::min(begin + width, pairs.size());
      const std::size_t end = std::min(begin + 2 * width, pairs.size());
      std::size_t left = begin, right = middle;
      for (std::size_t out = begin; out < end; ++out) {
        const bool from_right = left == middle || (right < end && pairs[right].second < pairs[left].second);
        if (from_right) swaps += static_cast<double>(middle - left);
        merged[out] = pairs[from_right ? right++ : left++];
      }
    }
    pairs.swap(merged);
  }
  return swaps;
}

}  // namespace

Result<double> pearson(std::span<const double> first, std::span<const double> second) {
  if (auto ok = check(first, second); !ok) return tl::unexpected(ok.error());
  const auto a = moments(first), b = moments(second);
  if (a->squares == 0.0 || b->squares == 0.0) return fail(Errc::undefined, no_spread);
  const double shift1 = a->mean - first.front(), shift2 = b->mean - second.front();
  double products = 0.0;
  for (std::size_t i = 0; i < first.size(); ++i)
    products += ((first[i] - first.front()) - shift1) * ((second[i] - second.front()) - shift2);
  return products / (std::sqrt(a->squares) * std::sqrt(b->squares));
}

Result<double> spearman(std::span<const double> first, std::span<const double> second) {
  if (auto ok = check(first, second); !ok) return tl::unexpected(ok.error());
  return pearson(ranks(first).rank, ranks(second).rank);
}

Result<double> kendall_tau_b(std::span<const double> first, std::span<const double> second) {
  if (auto ok = check(first, second); !ok) return tl::unexpected(ok.error());
  const auto a = ranks(first).rank, b = ranks(second).rank;  // equal means the same in both
  Pairs pairs(a.size());
  for (std::size_t i = 0; i < pairs.size(); ++i) pairs[i] = {a[i], b[i]};
  std::sort(pairs.begin(), pairs.end());
  const double all = pairs_of(static_cast<double>(pairs.size()));
  const double tied_both = tied_pairs(pairs, [](const auto& x, const auto& y) { return x == y; });
  const double tied1 = tied_pairs(pairs, [](const auto& x, const auto& y) { return x.first == y.first; });
  const double opposite = inversions(pairs);
  const double tied2 = tied_pairs(pairs, [](const auto& x, const auto& y) { return x.second == y.second; });
  if (tied1 == all || tied2 == all) return fail(Errc::undefined, no_spread);
  const double in_order_less_opposite = all - tied1 - tied2 + tied_both - 2.0 * opposite;
  return in_order_less_opposite / (std::sqrt(all - tied1) * std::sqrt(all - tied2));
}

}  // namespace evenhand::stats
