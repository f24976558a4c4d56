#include "agreement/percent.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "stats/proportion.hpp"

namespace evenhand::agreement {
namespace {

constexpr double same_share = 1e-12;  // of the size of the scores
constexpr double one = 1.0 + 1e-9;    // decimal scores one point apart may differ by a hair more

template <class Agree>
Proportion share(std::span<const double> first, std::span<const double> second, double confidence,
                 Agree agree) {
  assert(first.size() == second.size());
  std::size_t agreeing = 0;
  for (std::size_t i = 0; i < first.size(); ++i)
    if (agree(first[i], second[i])) ++agreeing;
  return proportion(agreeing, first.size(), confidence);
}

}  // namespace

bool scores_equal(double first, double second) {
  return std::abs(first - second) <= same_share * std::max(std::abs(first), std::abs(second));
}

bool scores_within_one(double first, double second) { return std::abs(first - second) <= one; }

Proportion proportion(std::size_t x, std::size_t n, double confidence) {
  if (n == 0) return Proportion::undefined("no case was scored by both");
  const auto agreeing = static_cast<double>(x), cases = static_cast<double>(n);
  Proportion result = Proportion::undefined("the limits could not be computed");
  result.estimate = agreeing / cases;
  if (const auto limits = stats::wilson(agreeing, cases, confidence)) {
    result.lower = limits->lower;
    result.upper = limits->upper;
  }
  if (const auto limits = stats::clopper_pearson(agreeing, cases, confidence)) {
    result.exact_lower = limits->lower;
    result.exact_upper = limits->upper;
  }
  return result;
}

Proportion exact_agreement(std::span<const double> first, std::span<const double> second, double confidence) {
  return share(first, second, confidence, scores_equal);
}

Proportion agreement_within_one(std::span<const double> first, std::span<const double> second,
                                double confidence) {
  return share(first, second, confidence, scores_within_one);
}

}  // namespace evenhand::agreement
