#include "stats/signed_rank.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>
#include <vector>

#include "stats/distributions.hpp"

namespace evenhand::stats {
namespace {

struct Ranks {
  std::size_t n = 0;
  std::vector<std::pair<std::size_t, std::size_t>> groups;  ///< twice the mean rank, how many share it
  std::size_t doubled_positive = 0;  ///< twice the rank sum of the positive differences
  double tie_sum = 0.0;              ///< sum of t^3 - t over groups of t equal ranks
};

Ranks rank(std::vector<Counted> differences, double equal) {
  std::sort(differences.begin(), differences.end(),
            [](const Counted& a, const Counted& b) { return std::abs(a.value) < std::abs(b.value); });
  Ranks ranks;
  for (std::size_t i = 0; i < differences.size();) {
    std::size_t end = i, t = 0, positive = 0;
    for (; end < differences.size(); ++end) {
      if (end > i && std::abs(differences[end].value) - std::abs(differences[end - 1].value) > equal) break;
      t += differences[end].count;
      positive += differences[end].value > 0.0 ? differences[end].count : 0;
    }
    const auto size = static_cast<double>(t);
    ranks.tie_sum += size * size * size - size;
    const std::size_t doubled = 2 * ranks.n + 1 + t;
    ranks.groups.emplace_back(doubled, t);
    ranks.doubled_positive += positive * doubled;
    ranks.n += t;
    i = end;
  }
  return ranks;
}

/// Over all 2^n sign patterns, each as likely: the smaller tail, twice.
double exact_p(const Ranks& ranks) {
  std::size_t total = 0;
  for (const auto& [r, count] : ranks.groups) total += r * count;
  std::vector<double> share(total + 1, 0.0);
  share[0] = 1.0;
  std::size_t reached = 0;
  for (const auto& [r, count] : ranks.groups)
    for (std::size_t k = 0; k < count; ++k) {
      reached += r;
      for (std::size_t s = reached + 1; s-- > 0;) share[s] = (share[s] + (s >= r ? share[s - r] : 0.0)) / 2.0;
    }
  double lower = 0.0, upper = 0.0;
  for (std::size_t s = 0; s <= total; ++s) {
    if (s <= ranks.doubled_positive) lower += share[s];
    if (s >= ranks.doubled_positive) upper += share[s];
  }
  return std::min(1.0, 2.0 * std::min(lower, upper));
}

Result<double> normal_p(const Ranks& ranks, bool correct) {
  const auto n = static_cast<double>(ranks.n);
  const double v = static_cast<double>(ranks.doubled_positive) / 2.0;
  const double mean = n * (n + 1.0) / 4.0;
  const double variance = (n * (n + 1.0) * (2.0 * n + 1.0) - ranks.tie_sum / 2.0) / 24.0;
  const double distance = std::max(0.0, std::abs(v - mean) - (correct ? 0.5 : 0.0));
  return normal_upper_tail(distance / std::sqrt(variance)).map([](double tail) {
    return std::min(1.0, 2.0 * tail);
  });
}

constexpr std::size_t exact_below = 50;
constexpr double equal_share = 1e-10;

}  // namespace

Result<SignedRank> signed_rank(std::span<const Counted> differences, SignedRankMethod method) {
  double largest = 0.0;
  for (const Counted& d : differences)
    if (d.count > 0) largest = std::max(largest, std::abs(d.value));
  const double equal = equal_share * largest;
  std::vector<Counted> kept;
  std::copy_if(differences.begin(), differences.end(), std::back_inserter(kept),
               [&](const Counted& d) { return d.count > 0 && std::abs(d.value) > equal; });
  if (kept.empty()) return fail(Errc::undefined, "every difference is 0: there is nothing to rank");

  const Ranks ranks = rank(std::move(kept), equal);
  const bool exact = method == SignedRankMethod::exact ||
                     (method == SignedRankMethod::automatic && ranks.n < exact_below && ranks.tie_sum == 0.0);
  const auto p = exact ? Result<double>(exact_p(ranks)) : normal_p(ranks, method != SignedRankMethod::normal);
  if (!p) return tl::unexpected(p.error());
  return SignedRank{ranks.n, static_cast<double>(ranks.doubled_positive) / 2.0, *p, exact};
}

Result<SignedRank> signed_rank(std::span<const double> differences, SignedRankMethod method) {
  std::vector<Counted> once;
  once.reserve(differences.size());
  for (const double d : differences) once.push_back({d, 1});
  return signed_rank(once, method);
}

}  // namespace evenhand::stats
