#include "agreement/fleiss.hpp"

#include <cmath>

namespace evenhand::agreement {
namespace {

/// Sums over the cases that all raters scored.
struct Complete {
  double cases = 0.0;
  std::vector<double> ratings;  ///< by category
  std::vector<double> split;    ///< sum over cases of x (m - x), by category
};

Complete complete_of(const CategoryCounts& counts, std::size_t raters) {
  const auto m = static_cast<double>(raters);
  Complete complete;
  complete.ratings.resize(counts.categories());
  complete.split.resize(counts.categories());
  for (std::size_t c = 0; c < counts.cases(); ++c) {
    if (counts.ratings(c) != raters) continue;
    complete.cases += 1.0;
    for (const auto& count : counts.at(c)) {
      const auto x = static_cast<double>(count.ratings);
      complete.ratings[count.category] += x;
      complete.split[count.category] += x * (m - x);
    }
  }
  return complete;
}

/// E[(d_jk - p_j - p_k + s)^2] for two independent ratings, s = sum p^2: the printed
/// (sum pq)^2 - sum pq (q - p) as a sum of squares, which does not cancel when one share is near 1.
double null_spread(const std::vector<double>& p) {
  double s = 0.0;
  for (const double share : p) s += share * share;
  double spread = 0.0;
  for (std::size_t j = 0; j < p.size(); ++j)
    for (std::size_t k = 0; k < p.size(); ++k) {
      const double d = (j == k ? 1.0 : 0.0) - p[j] - p[k] + s;
      spread += p[j] * p[k] * d * d;
    }
  return spread;
}

KappaOfCategory of_category(double ratings, double split, double all, double raters, double se0) {
  KappaOfCategory one{Reason("nobody used this category"), Reason("nobody used this category"),
                      Reason("nobody used this category")};
  if (ratings == 0.0) return one;
  if (ratings == all) {
    constexpr Reason only{"every score is this category: there is nothing to agree on beyond chance"};
    return {only, only, only};
  }
  one.kappa = 1.0 - split / ((raters - 1.0) * ratings * (all - ratings) / all);
  one.se0 = se0;
  one.z = *one.kappa / se0;
  return one;
}

}  // namespace

FleissKappas FleissKappas::undefined(Reason reason, std::size_t categories) {
  return {reason, reason, reason, std::vector<KappaOfCategory>(categories, {reason, reason, reason}), 0, 0};
}

FleissKappas fleiss_kappa(const CategoryCounts& counts, std::size_t raters) {
  const auto undefined = [&](Reason reason) { return FleissKappas::undefined(reason, counts.categories()); };
  if (raters < 2) return undefined("fewer than two raters");
  const Complete complete = complete_of(counts, raters);
  if (complete.cases == 0.0) return undefined("no case was scored by every rater");

  FleissKappas result = undefined("every score is the same: there is nothing to agree on beyond chance");
  result.cases = static_cast<std::size_t>(complete.cases);
  result.raters = raters;
  const auto m = static_cast<double>(raters);
  const double all = complete.cases * m;
  const double se0 = std::sqrt(2.0 / (all * (m - 1.0)));
  double split = 0.0, mixed = 0.0;
  std::vector<double> share;
  for (std::size_t j = 0; j < counts.categories(); ++j) {
    const double ratings = complete.ratings[j];
    share.push_back(ratings / all);
    split += complete.split[j];
    mixed += ratings / all * ((all - ratings) / all);
    result.categories[j] = of_category(ratings, complete.split[j], all, m, se0);
  }
  if (mixed == 0.0) return result;
  const double kappa = 1.0 - split / (all * (m - 1.0) * mixed);
  result.kappa = kappa;
  result.se0 = se0 * std::sqrt(null_spread(share)) / mixed;
  result.z = kappa / *result.se0;
  return result;
}

ChanceCorrected fleiss_all_scores(const CategoryCounts& counts, const AgreementWeights& weights,
                                  double confidence) {
  return chance_corrected(counts, weights, Chance::fleiss, confidence);
}

}  // namespace evenhand::agreement
