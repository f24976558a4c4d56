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

/// Counts over the cases that every rater scored: whole numbers, so that no digit is lost over many cases.
struct Complete {
  double cases = 0.0;
  std::vector<double> all;    ///< ratings by category
  std::vector<double> pairs;  ///< ordered pairs of ratings of a case by their categories, row-major
  double own_spread = 0.0;    ///< spread of each rater's own ratings, added up
};

Complete complete_of(const Placings& placings, const AgreementWeights& weights) {
  const CategoryCounts counts = CategoryCounts::of(placings);
  const std::size_t q = placings.categories;
  Complete complete;
  complete.all.resize(q);
  complete.pairs.resize(q * q);
  for (std::size_t c = 0; c < placings.cases; ++c) {
    if (counts.ratings(c) != placings.raters) continue;
    complete.cases += 1.0;
    for (const auto& a : counts.at(c)) {
      const auto ratings = static_cast<double>(a.ratings);
      complete.all[a.category] += ratings;
      for (const auto& b : counts.at(c))
        complete.pairs[a.category * q + b.category] += ratings * static_cast<double>(b.ratings);
    }
  }
  std::vector<double> own(q);
  for (std::size_t r = 0; r < placings.raters; ++r) {
    std::fill(own.begin(), own.end(), 0.0);
    for (std::size_t c = 0; c < placings.cases; ++c)
      if (counts.ratings(c) == placings.raters) own[static_cast<std::size_t>(placings.at(r, c))] += 1.0;
    complete.own_spread += spread(own, weights);
  }
  return complete;
}

}  // namespace

Value conger_kappa(const Placings& placings, const AgreementWeights& weights) {
  assert(placings.categories == weights.categories());
  if (placings.raters < 2) return Reason("fewer than two raters");
  const Complete used = complete_of(placings, weights);
  if (used.cases == 0.0) return Reason("no case was scored by every rater");

  const std::size_t q = placings.categories;
  double observed = 0.0;
  for (std::size_t k = 0; k < q; ++k)
    for (std::size_t l = 0; l < q; ++l) observed += (1.0 - weights(k, l)) * used.pairs[k * q + l];
  // Pairs of different raters are all pairs, less each rater with itself.
  const double by_chance = (spread(used.all, weights) - used.own_spread) / used.cases;
  const auto raters = static_cast<double>(placings.raters);
  if (by_chance < rounding * raters * (raters - 1.0) * used.cases)
    return Reason("every rater gave every case the same score: there is nothing to agree on beyond chance");
  return 1.0 - observed / by_chance;
}

}  // namespace evenhand::agreement
