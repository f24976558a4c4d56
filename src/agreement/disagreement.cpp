#include "agreement/disagreement.hpp"

#include <algorithm>
#include <cmath>

#include "agreement/by_case.hpp"
#include "agreement/clustered.hpp"
#include "agreement/percent.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason no_key{"no score stands beside a key"};
constexpr Reason no_order{"nominal categories have no order"};
constexpr Reason too_many{"too many cases of too many categories to leave out each in turn"};
constexpr double most_cells = 2e8;

/// Sums over the scores of one case each.
struct ByCase {
  std::vector<double> n, exact, within_one, signed_sum, absolute;
};

ByCase by_case(std::span<const KeyedScore> scores, const Scale& scale, std::size_t cases) {
  const std::vector<double> zeros(cases);
  ByCase sums{zeros, zeros, zeros, zeros, zeros};
  for (const auto& [case_, key, score] : scores) {
    const double k = scale.values[static_cast<std::size_t>(key)],
                 s = scale.values[static_cast<std::size_t>(score)];
    sums.n[case_] += 1.0;
    sums.exact[case_] += key == score ? 1.0 : 0.0;
    sums.within_one[case_] += scores_within_one(s, k) ? 1.0 : 0.0;
    sums.signed_sum[case_] += s - k;
    sums.absolute[case_] += std::abs(s - k);
  }
  return sums;
}

CrossTable cross_table(std::span<const KeyedScore> scores, std::size_t categories) {
  CrossTable table(categories);
  for (const auto& score : scores)
    table.add(static_cast<std::size_t>(score.key), static_cast<std::size_t>(score.score));
  return table;
}

/// The scores of each case, of the cases that have one.
std::vector<std::span<const KeyedScore>> cases_of(std::span<const KeyedScore> in_order) {
  std::vector<std::span<const KeyedScore>> cases;
  for (std::size_t begin = 0, end = 0; begin < in_order.size(); begin = end) {
    while (end < in_order.size() && in_order[end].case_ == in_order[begin].case_) ++end;
    cases.push_back(in_order.subspan(begin, end - begin));
  }
  return cases;
}

/// Limits from leaving out whole cases: several raters of one case do not err apart from each other.
ByWeights<Estimate> kappas(std::span<const KeyedScore> scores, const Scale& scale, double confidence) {
  std::vector<KeyedScore> in_order(scores.begin(), scores.end());
  std::ranges::stable_sort(in_order, {}, &KeyedScore::case_);
  const auto cases = cases_of(in_order);
  CrossTable table = cross_table(scores, scale.size());
  const auto by = [&](Weights weighting) -> Estimate {
    const auto weights = AgreementWeights::by_index(scale.size(), weighting);
    const Value all = kappa_estimate(table, weights);
    if (static_cast<double>(cases.size() * scale.size() * scale.size()) > most_cells)
      return {all, too_many, too_many, {}, false};
    const auto without = [&](std::size_t left_out) {
      for (const auto& [case_, key, score] : cases[left_out])
        table.remove(static_cast<std::size_t>(key), static_cast<std::size_t>(score));
      const Value kappa = kappa_estimate(table, weights);
      for (const auto& [case_, key, score] : cases[left_out])
        table.add(static_cast<std::size_t>(key), static_cast<std::size_t>(score));
      return kappa;
    };
    return jackknifed_z_by_case(all, cases.size(), without, confidence);
  };
  const Estimate none = Estimate::undefined(no_order);
  if (!scale.ordered()) return {by(Weights::none), none, none};
  return {by(Weights::none), by(Weights::linear), by(Weights::quadratic)};
}

void tabulate(Disagreement& result, const CrossTable& table, bool ordered) {
  const std::size_t q = table.categories();
  result.tabulated = 1.0;
  result.key_by_score.reserve(q * q);
  if (ordered) result.differences.assign(2 * q - 1, 0);
  for (std::size_t key = 0; key < q; ++key)
    for (std::size_t score = 0; score < q; ++score) {
      result.key_by_score.push_back(table.at(key, score));
      if (ordered) result.differences[score + q - 1 - key] += table.at(key, score);
    }
}

Estimate in_range(Estimate estimate, double low, double high) {
  const auto outside = [&](const Value& limit) { return limit && (*limit < low || *limit > high); };
  estimate.outside_range = outside(estimate.lower) || outside(estimate.upper);
  return estimate;
}

}  // namespace

Disagreement Disagreement::undefined(Reason reason) {
  const Estimate none = Estimate::undefined(reason);
  return {0, none, none, none, none, none, {none, none, none}, reason, {}, {}};
}

Disagreement disagreement(std::span<const KeyedScore> scores, const Scale& scale, std::size_t cases,
                          std::span<const double> all_items_by_case, double confidence) {
  if (scores.empty()) return Disagreement::undefined(no_key);
  Disagreement result = Disagreement::undefined(no_order);
  result.n = scores.size();
  const ByCase sums = by_case(scores, scale, cases);
  result.exact = in_range(ratio_by_case(sums.exact, sums.n, confidence), 0.0, 1.0);
  if (scale.ordered()) {
    result.within_one = in_range(ratio_by_case(sums.within_one, sums.n, confidence), 0.0, 1.0);
    result.mean_signed = ratio_by_case(sums.signed_sum, sums.n, confidence);
    result.mae = in_range(ratio_by_case(sums.absolute, sums.n, confidence), 0.0, HUGE_VAL);
    result.share = all_items_by_case.empty()
                       ? Estimate::undefined("a total is the sum of the items and has no share of its own")
                       : in_range(ratio_by_case(sums.absolute, all_items_by_case, confidence), 0.0, 1.0);
    if (!all_items_by_case.empty() && !result.share.estimate)
      result.share = Estimate::undefined("every score equals its key: there is no disagreement to share");
  }

  const std::size_t q = scale.size();
  constexpr Reason continuous{"more than 250 categories: the scores are on a continuous scale"};
  const Estimate no_kappa = Estimate::undefined(continuous);
  result.kappa = {no_kappa, no_kappa, no_kappa};
  result.tabulated = Reason("too many categories to tabulate");
  if (q > most_kappa_categories) return result;
  result.kappa = kappas(scores, scale, confidence);
  if (q <= most_tabulated_categories) tabulate(result, cross_table(scores, q), scale.ordered());
  return result;
}

}  // namespace evenhand::agreement
