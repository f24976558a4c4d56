#include "agreement/conger.hpp"

#include <algorithm>
#include <cassert>
#include <vector>

namespace evenhand::agreement {
namespace {

constexpr double rounding = 1e-15;

/// sum over k, l of (1 - w_kl) a_k a_l.
double spread(const std::vector<double>& a, const AgreementWeights& w) {
  double sum = 0.0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    if (a[k] == 0.0) continue;
    for (std::size_t l = 0; l < a.size(); ++l) sum += (1.0 - w(k, l)) * a[k] * a[l];
  }
  return sum;
}

}  // namespace

Value conger_kappa(const Placings& placings, const AgreementWeights& weights) {
  assert(placings.categories == weights.categories());
  if (placings.raters < 2) return Reason("fewer than two raters");
  const CategoryCounts counts = CategoryCounts::of(placings);
  const auto by_all = [&](std::size_t c) { return counts.ratings(c) == placings.raters; };

  double cases = 0.0, observed = 0.0;
  std::vector<double> all(placings.categories), own(placings.categories);
  for (std::size_t c = 0; c < placings.cases; ++c) {
    if (!by_all(c)) continue;
    cases += 1.0;
    for (const auto& a : counts.at(c)) {
      all[a.category] += static_cast<double>(a.ratings);
      for (const auto& b : counts.at(c))
        observed += (1.0 - weights(a.category, b.category)) * static_cast<double>(a.ratings) *
                    static_cast<double>(b.ratings);
    }
  }
  if (cases == 0.0) return Reason("no case was scored by every rater");

  // Pairs g != h together are all pairs, less each rater with itself.
  double by_chance = spread(all, weights);
  for (std::size_t r = 0; r < placings.raters; ++r) {
    std::fill(own.begin(), own.end(), 0.0);
    for (std::size_t c = 0; c < placings.cases; ++c)
      if (by_all(c)) own[static_cast<std::size_t>(placings.at(r, c))] += 1.0;
    by_chance -= spread(own, weights);
  }
  const auto raters = static_cast<double>(placings.raters);
  const double pairs = raters * (raters - 1.0);
  by_chance /= pairs * cases * cases;
  observed /= pairs * cases;
  if (by_chance < rounding)
    return Reason("every rater gave every case the same score: there is nothing to agree on beyond chance");
  return 1.0 - observed / by_chance;
}

}  // namespace evenhand::agreement
