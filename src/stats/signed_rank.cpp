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
  std::vector<std::size_t> doubled;  ///< twice the mean rank of each difference: a whole number
  std::size_t doubled_positive = 0;  ///< twice the rank sum of the positive ones
  double tie_sum = 0.0;              ///< sum of t^3 - t over groups of t equal ranks
};

Ranks rank(std::vector<double> differences, double equal) {
  std::sort(differences.begin(), differences.end(),
            [](double a, double b) { return std::abs(a) < std::abs(b); });
  Ranks ranks;
  ranks.doubled.reserve(differences.size());
  for (std::size_t i = 0; i < differences.size();) {
    std::size_t end = i + 1;
    while (end < differences.size() && std::abs(differences[end]) - std::abs(differences[end - 1]) <= equal)
      ++end;
    const auto t = static_cast<double>(end - i);
    ranks.tie_sum += t * t * t - t;
    const std::size_t doubled = i + 1 + end;
    for (; i < end; ++i) {
      ranks.doubled.push_back(doubled);
      if (differences[i] > 0.0) ranks.doubled_positive += doubled;
    }
  }
  return ranks;
}

/// Over all 2^n sign patterns, each as likely: the smaller tail, twice.
double exact_p(const Ranks& ranks) {
  std::size_t total = 0;
  for (const std::size_t r : ranks.doubled) total += r;
  std::vector<double> share(total + 1, 0.0);
  share[0] = 1.0;
  std::size_t reached = 0;
  for (const std::size_t r : ranks.doubled) {
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
  const auto n = static_cast<double>(ranks.doubled.size());
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

Result<SignedRank> signed_rank(std::span<const double> differences, SignedRankMethod method) {
  double largest = 0.0;
  for (const double d : differences) largest = std::max(largest, std::abs(d));
  const double equal = equal_share * largest;
  std::vector<double> kept;
  std::copy_if(differences.begin(), differences.end(), std::back_inserter(kept),
               [&](double d) { return std::abs(d) > equal; });
  if (kept.empty()) return fail(Errc::undefined, "every difference is 0: there is nothing to rank");

  const Ranks ranks = rank(std::move(kept), equal);
  const std::size_t n = ranks.doubled.size();
  const bool exact = method == SignedRankMethod::exact ||
                     (method == SignedRankMethod::automatic && n < exact_below && ranks.tie_sum == 0.0);
  const auto p = exact ? Result<double>(exact_p(ranks)) : normal_p(ranks, method != SignedRankMethod::normal);
  if (!p) return tl::unexpected(p.error());
  return SignedRank{n, static_cast<double>(ranks.doubled_positive) / 2.0, *p, exact};
}

}  // namespace evenhand::stats
