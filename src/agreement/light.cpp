#include "agreement/light.hpp"

#include <cassert>

namespace evenhand::agreement {
namespace {

CrossTable table_of(const Placings& placings, std::size_t first, std::size_t second) {
  CrossTable table(placings.categories);
  for (std::size_t c = 0; c < placings.cases; ++c) {
    const auto a = placings.at(first, c), b = placings.at(second, c);
    if (a >= 0 && b >= 0) table.add(static_cast<std::size_t>(a), static_cast<std::size_t>(b));
  }
  return table;
}

}  // namespace

Value light_kappa(const Placings& placings, const AgreementWeights& weights) {
  assert(placings.categories == weights.categories());
  if (placings.raters < 2) return Reason("fewer than two raters");
  double sum = 0.0, pairs = 0.0;
  for (std::size_t a = 0; a < placings.raters; ++a)
    for (std::size_t b = a + 1; b < placings.raters; ++b) {
      const CrossTable table = table_of(placings, a, b);
      if (table.cases() == 0) return Reason("two of the raters share no case");
      const Value kappa = kappa_estimate(table, weights);
      if (!kappa)
        return Reason(
            "two of the raters gave every case they share the same score: their kappa has no value");
      sum += *kappa;
      pairs += 1.0;
    }
  return sum / pairs;
}

}  // namespace evenhand::agreement
