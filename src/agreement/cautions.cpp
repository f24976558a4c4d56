#include "agreement/cautions.hpp"

#include <algorithm>
#include <numeric>
#include <string_view>
#include <vector>

#include "agreement/group.hpp"
#include "agreement/tally.hpp"

namespace evenhand::agreement {
namespace {

/// Adds sentences to a list.
class Cautions {
 public:
  explicit Cautions(std::vector<std::string_view>& to) : to_(to) {}
  void say(bool due, std::string_view sentence) {
    if (due) to_.push_back(sentence);
  }

 private:
  std::vector<std::string_view>& to_;
};

void of_variances(Cautions& cautions, NearAnEnd& near, const Measure& m, const Spread& spread,
                  const StatisticSet& only) {
  const bool is_total = m.scale.level == Level::interval;
  const bool has_icc = m.icc[1].icc.estimate.defined();
  cautions.say(
      has_icc && only.has(Statistic::icc) && m.used.raters <= 8,
      "Up to eight raters: where they differ in severity the F limits of ICC(2,1) and ICC(2,k) are too "
      "narrow; those by REML hold.");
  cautions.say(
      has_icc && only.has(Statistic::icc),
      "The same raters scored all cases: ICC(1,1) and ICC(1,k) are for cases that each have raters of their "
      "own, and where raters differ in severity their limits are too narrow here.");
  const bool has_reml = m.icc_reml.agreement.estimate.defined();
  near.icc = ((has_icc && only.has(Statistic::icc)) || (has_reml && only.has(Statistic::icc_reml))) &&
             spread.at_one_end >= (is_total ? 0.3 : 0.4);
  cautions.say(near.icc, "Many scores at one end of the scale: the limits of every ICC are too narrow.");
  near.sem = (m.sem.agreement.estimate || m.mdc95.agreement) && (!is_total || spread.at_one_end >= 0.1);
  cautions.say(near.sem,
               "Near the ends of a scale, and so on one of few levels, the error differs from case to case: "
               "the limits of SEM and MDC95 are too narrow.");
  cautions.say(m.icc_reml.linked_groups > 1,
               "Raters and cases fall into groups that share nothing: comparisons between groups rest on the "
               "assumption that they were drawn alike.");
}

/// Of several raters, beyond chance.
void of_coefficients(Cautions& cautions, const Measure& m, const Spread& spread, const StatisticSet& only) {
  if (m.scale.level == Level::interval || m.used.raters < 2) return;
  const std::size_t cases = m.used.cases;
  const bool alpha = only.has(Statistic::krippendorff_alpha);
  cautions.say(
      (alpha || only.has_any({Statistic::fleiss_kappa, Statistic::conger_kappa, Statistic::light_kappa,
                              Statistic::gwet})) &&
          cases < 20,
      "Fewer than 20 cases: the limits of Fleiss', Conger's and Light's kappa, of alpha and of Gwet's "
      "coefficient are too narrow.");
  cautions.say(only.has_any({Statistic::fleiss_kappa, Statistic::conger_kappa, Statistic::light_kappa,
                             Statistic::gwet}) &&
                   spread.at_one_end >= 0.8 && cases >= 20 && cases < 40,
               "Fewer than 40 cases, and four scores in five at one end of the scale: the limits of Fleiss', "
               "Conger's and Light's kappa and of AC1 are too narrow.");
  cautions.say(
      only.has(Statistic::gwet) && m.scale.ordered() && m.used.raters == 2 && cases >= 20 && cases < 80,
      "Two raters and fewer than 80 cases: the limits of AC2 are too narrow.");
  cautions.say(
      alpha && spread.at_one_end >= 0.6 && cases >= 20 && cases < 40,
      "Fewer than 40 cases, and three scores in five at one end of the scale: the limits of alpha are "
      "too narrow.");
  cautions.say(
      alpha && m.krippendorff_alpha.interval.estimate && spread.at_one_end >= 0.8 && cases >= 40,
      "Four scores in five at one end of the scale: the limits of alpha by the interval metric are too "
      "narrow, however many cases.");
}

/// Of two raters, by the pair that shares fewest cases.
void of_pairs(Cautions& cautions, NearAnEnd& near, const Measure& m, const Spread& spread,
              const StatisticSet& only) {
  std::size_t fewest = 0;
  for (const Pair& pair : m.pairs)
    if (pair.n > 0) fewest = fewest == 0 ? pair.n : std::min(fewest, pair.n);
  if (fewest == 0) return;
  const bool is_total = m.scale.level == Level::interval;
  const double away = static_cast<double>(fewest) * spread.elsewhere;
  cautions.say(!is_total && only.has_any({Statistic::bias, Statistic::gwet, Statistic::brennan_prediger}) &&
                   away < 8.0,
               "Fewer than 8 cases away from the level given most: the limits of a pair's bias, AC1 and "
               "Brennan-Prediger's coefficient are too narrow.");
  cautions.say(!is_total && only.has(Statistic::kappa) && away < 16.0,
               "Fewer than 16 cases away from the level given most: the limits of a pair's kappa are too "
               "narrow, unweighted and linear.");
  cautions.say(
      !is_total && m.scale.ordered() && only.has_any({Statistic::kappa, Statistic::gwet}) && away < 40.0,
      "Fewer than 40 cases away from the level given most: the limits of a pair's quadratic kappa and "
      "AC2 are too narrow.");
  near.pairs = only.has_any({Statistic::limits_of_agreement, Statistic::concordance}) &&
               !no_interval(m.scale) && spread.at_one_end >= 0.4;
  cautions.say(
      near.pairs,
      "Many scores at one end of the scale: the limits of a pair's concordance, and those of its limits "
      "of agreement, are too narrow, however many cases.");
}

}  // namespace

Spread spread_of(std::span<const Columns> columns, std::optional<std::size_t> key) {
  Tally tally(columns.front().scale.size() + 1);  // the first stands for not given
  for (const Columns& one : columns)
    for (std::size_t rater = 0; rater < one.raters; ++rater) {
      if (rater == key) continue;
      const std::int32_t* const places = one.of(rater).data();
      tally.add(one.cases,
                [&](std::size_t i) { return static_cast<std::size_t>(std::max(places[i], -1) + 1); });
    }
  std::vector<std::size_t> given(columns.front().scale.size() + 1);
  for (std::size_t i = 1; i < given.size(); ++i) given[i] = tally.at(i);
  const auto used = [](std::size_t count) { return count > 0; };
  const auto lowest = std::find_if(given.begin(), given.end(), used);
  if (lowest == given.end()) return {};
  const std::size_t highest = *std::find_if(given.rbegin(), given.rend(), used);
  const std::size_t n = std::accumulate(given.begin(), given.end(), std::size_t{0});
  const std::size_t most = *std::max_element(given.begin(), given.end());
  return {static_cast<double>(std::max(*lowest, highest)) / static_cast<double>(n),
          static_cast<double>(n - most) / static_cast<double>(n)};
}

NearAnEnd add_cautions(Measure& result, const Spread& spread, const StatisticSet& only) {
  Cautions cautions(result.cautions);
  NearAnEnd near;
  of_variances(cautions, near, result, spread, only);
  of_coefficients(cautions, result, spread, only);
  of_pairs(cautions, near, result, spread, only);
  return near;
}

void add_cautions(Measure& result, const Columns& columns, std::size_t key) {
  if (result.total || !result.disagreement.kappa.none.lower) return;
  const std::size_t cases = columns.cases;
  const double at_one_end = spread_of({&columns, 1}, key).at_one_end;
  Cautions cautions(result.cautions);
  cautions.say(
      cases < 10 || (cases < 40 && at_one_end >= 0.6) || at_one_end >= 0.8,
      "Few cases, or many scores at one end of the scale: the limits of an item's kappa against the key "
      "are too narrow.");
}

void add_cautions(AcrossItems& result, std::span<const Columns> items, std::size_t key) {
  const std::size_t cases = items.front().cases;
  Cautions cautions(result.cautions);
  cautions.say(cases < 10, "Fewer than ten cases: the limits of shares over all items are too narrow.");
  cautions.say(cases < 40, "Fewer than 40 cases: the limits of the mean item kappa are too narrow.");
  cautions.say(
      cases >= 40 && items.front().scale.ordered() && spread_of(items, key).at_one_end >= 0.6,
      "Three scores in five at one end of the scale: the limits of the linear and the quadratic mean "
      "item kappa are too narrow, however many cases.");
  cautions.say(std::any_of(result.per_rater.begin(), result.per_rater.end(),
                           [](const AcrossItemsOfRater& one) {
                             return one.within_one.estimate && *one.within_one.estimate > 0.9;
                           }),
               of_single_raters);
}

}  // namespace evenhand::agreement
