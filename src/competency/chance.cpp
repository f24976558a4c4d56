#include "competency/chance.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>
#include <vector>

#include "base/random.hpp"
#include "stats/distributions.hpp"

namespace evenhand::competency {
namespace {

/// Draws the rest of a rater's cases up to the next look.
class Future {
 public:
  Future(const Decision& decision, const Standard& standard)
      : so_far_(decision.so_far), items_per_case_(standard.items_per_case) {
    const Limit& limit = so_far_.limit;
    const double size = static_cast<double>(limit.scores) / limit.effect;
    right_ = *limit.share * size + 0.5;
    wrong_ = (1.0 - *limit.share) * size + 0.5;
    correlation_ = standard.correlation_floor;
    if (limit.items_per_case > 1.0)
      correlation_ = std::max(correlation_, (limit.effect - 1.0) / (limit.items_per_case - 1.0));
    correlation_ = std::clamp(correlation_, 0.001, 0.95);
    items_per_case_ = std::min(items_per_case_, so_far_.items.size());
  }

  std::vector<ScoredCase> draw(std::size_t cases, base::Random& random) const {
    std::vector<ItemShowing> items = so_far_.items;
    const double share = beta(right_, wrong_, random);
    const double spread = (1.0 - correlation_) / correlation_;
    std::vector<ScoredCase> out;
    for (std::size_t c = 0; c < cases; ++c) {
      const double p = beta(share * spread, (1.0 - share) * spread, random);
      std::size_t misses = 0;
      for (std::size_t i = 0; i < items_per_case_; ++i) misses += random.chance(1.0 - p) ? 1 : 0;
      out.push_back(next_case(c, misses, items, random));
    }
    return out;
  }

 private:
  static double beta(double a, double b, base::Random& random) {
    const double u = std::clamp(random.uniform(), 1e-12, 1.0 - 1e-12);
    return stats::beta_quantile(u, std::max(a, 1e-6), std::max(b, 1e-6)).value_or(a / (a + b));
  }

  /// Shows the items that were shown least so far, and lets the misses fall on them by how often each was
  /// missed.
  ScoredCase next_case(std::size_t number, std::size_t misses, std::vector<ItemShowing>& items,
                       base::Random& random) const {
    std::ranges::stable_sort(items, {}, &ItemShowing::shown);
    ScoredCase out{.id = CaseId("to come " + std::to_string(number)), .items = {}};
    std::vector<double> weights;
    for (std::size_t i = 0; i < items_per_case_; ++i) {
      out.items.push_back({.item = items[i].item, .agrees = true});
      weights.push_back((static_cast<double>(items[i].missed) + 0.5) /
                        (static_cast<double>(items[i].shown) + 1.0));
      ++items[i].shown;
    }
    for (std::size_t m = 0; m < misses; ++m) {
      double u = random.uniform() * std::accumulate(weights.begin(), weights.end(), 0.0);
      std::size_t hit = 0;
      while (hit + 1 < weights.size() && (weights[hit] <= 0.0 || u >= weights[hit])) u -= weights[hit++];
      out.items[hit].agrees = false;
      weights[hit] = 0.0;
    }
    return out;
  }

  Look so_far_;
  std::size_t items_per_case_;
  double right_ = 0.0, wrong_ = 0.0, correlation_ = 0.0;
};

}  // namespace

std::optional<ChanceOfReady> chance_of_ready(std::span<const ScoredCase> cases, const Standard& standard,
                                             const DecideOptions& options, const ChanceOptions& how) {
  const auto now = decide(cases, standard, options);
  if (!now) return std::nullopt;
  const auto next_look = now->next_look;
  if (!next_look || now->cases < 2 || how.draws == 0) return std::nullopt;
  const Future future(*now, standard);
  std::size_t ready = 0;
  for (std::size_t d = 0; d < how.draws; ++d) {
    base::Random random(how.seed, d);
    std::vector<ScoredCase> all(cases.begin(), cases.end());
    for (auto& each : future.draw(*next_look - now->cases, random)) all.push_back(std::move(each));
    const auto then = decide(all, standard, options);
    if (then && then->verdict == Verdict::ready) ++ready;
  }
  const double n = static_cast<double>(how.draws);
  const double chance = static_cast<double>(ready) / n;
  return ChanceOfReady{chance, std::sqrt(chance * (1.0 - chance) / n), *next_look};
}

}  // namespace evenhand::competency
