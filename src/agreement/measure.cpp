#include "agreement/measure.hpp"

#include <algorithm>
#include <initializer_list>
#include <vector>

#include "agreement/brennan_prediger.hpp"
#include "agreement/cautions.hpp"
#include "agreement/concordance.hpp"
#include "agreement/group.hpp"
#include "agreement/gwet.hpp"
#include "base/parallel.hpp"

namespace evenhand::agreement {
namespace {

/// Computes pair after pair on one scale, with its weights and buffers at hand. On a scale of few
/// categories everything but the pairs of scores themselves is in the cross table.
class PairStatistics {
 public:
  PairStatistics(const Columns& columns, const AgreementOptions& options)
      : columns_(columns),
        options_(options),
        proportions_(options.confidence),
        tabulated_(columns.scale.size() <= most_kappa_categories),
        weights_{weights(Weights::none), weights(Weights::linear), weights(Weights::quadratic)},
        kappas_(weights_, options.confidence),
        table_(categories()) {}

  /// Into a pair as it is before anything was asked for.
  void fill(Pair& pair, RaterPair raters) {
    pair.first = raters.first;
    pair.second = raters.second;
    read(pair);
    add_shares(pair);
    add_kappa(pair);
    add_other_coefficients(pair);
    add_differences(pair);
  }

 private:
  bool asked(std::initializer_list<Statistic> any) const { return options_.only.has_any(any); }
  std::size_t categories() const { return tabulated_ ? columns_.scale.size() : 0; }
  AgreementWeights weights(Weights weights) const {
    return AgreementWeights::by_index(categories(), weights);
  }
  double value(std::int32_t place) const { return columns_.scale.values[static_cast<std::size_t>(place)]; }

  void read(Pair& pair) {
    const auto first = columns_.of(pair.first), second = columns_.of(pair.second);
    table_.clear();
    scored_.clear();
    differences_.clear();
    if (tabulated_) tabulate(first, second);
    if (!tabulated_ || asked({Statistic::limits_of_agreement, Statistic::concordance}))
      for (std::size_t i = 0; i < columns_.cases; ++i)
        if (first[i] >= 0 && second[i] >= 0) scored_.push_back({first[i], second[i]});
    if (!tabulated_)
      for (const auto& [x, y] : scored_) differences_.push_back({value(x) - value(y), 1});
    pair.n = tabulated_ ? table_.cases() : scored_.size();
  }

  void tabulate(std::span<const std::int32_t> first, std::span<const std::int32_t> second) {
    table_.add_cases(first, second);
    for (std::size_t x = 0; x < table_.categories(); ++x)
      for (std::size_t y = 0; y < table_.categories(); ++y)
        if (table_.at(x, y) > 0)
          differences_.push_back({columns_.scale.values[x] - columns_.scale.values[y], table_.at(x, y)});
  }

  void add_shares(Pair& pair) {
    if (!asked({Statistic::exact, Statistic::within_one})) return;
    std::size_t exact = 0, within_one = 0;
    for (std::size_t x = 0; x < table_.categories(); ++x) exact += table_.at(x, x);
    if (!tabulated_)
      for (const auto& [x, y] : scored_) exact += x == y ? 1 : 0;
    for (const auto& [difference, count] : differences_)
      within_one += scores_within_one(difference, 0.0) ? count : 0;
    if (asked({Statistic::exact})) pair.exact = proportions_.of(exact, pair.n);
    if (!asked({Statistic::within_one})) return;
    pair.within_one =
        columns_.scale.ordered() ? proportions_.of(within_one, pair.n) : Proportion::undefined(no_order);
  }

  void add_kappa(Pair& pair) {
    if (!asked({Statistic::kappa, Statistic::prevalence_index, Statistic::bias_index})) return;
    if (!tabulated_) {
      pair.kappa = {Kappa::undefined(continuous), Kappa::undefined(continuous), Kappa::undefined(continuous)};
      pair.prevalence_index = pair.bias_index = continuous;
      return;
    }
    pair.prevalence_index = prevalence_index(table_);
    pair.bias_index = bias_index(table_);
    if (!asked({Statistic::kappa})) return;
    if (columns_.scale.ordered())
      pair.kappa = kappas_.of(table_);
    else
      pair.kappa = {kappa(table_, weights_.none, options_.confidence), Kappa::undefined(no_order),
                    Kappa::undefined(no_order)};
  }

  void add_other_coefficients(Pair& pair) {
    const auto of = [&](auto coefficient) -> ByWeights<EstimateWithError> {
      if (!tabulated_) return {undefined(continuous), undefined(continuous), undefined(continuous)};
      ByWeights<EstimateWithError> result{coefficient(weights_.none), undefined(no_order),
                                          undefined(no_order)};
      if (!columns_.scale.ordered()) return result;
      result.linear = coefficient(weights_.linear);
      result.quadratic = coefficient(weights_.quadratic);
      return result;
    };
    if (asked({Statistic::gwet}))
      pair.gwet = of([&](const auto& w) { return with_error(gwet(table_, w, options_.confidence)); });
    if (asked({Statistic::brennan_prediger}))
      pair.brennan_prediger =
          of([&](const auto& w) { return with_error(brennan_prediger(table_, w, options_.confidence)); });
    if (!asked({Statistic::marginal_homogeneity})) return;
    if (tabulated_)
      pair.marginal_homogeneity = {stuart_maxwell(table_), bowker(table_), mcnemar(table_)};
    else
      pair.marginal_homogeneity = {HomogeneityTest::undefined(continuous),
                                   SymmetryTest::undefined(continuous), McNemar::undefined(continuous)};
  }

  void add_differences(Pair& pair) {
    if (!asked({Statistic::bias, Statistic::limits_of_agreement, Statistic::concordance})) return;
    const auto why = no_interval(columns_.scale);
    if (asked({Statistic::bias}))
      pair.bias = why ? Bias::undefined(*why) : agreement::bias(differences_, options_.confidence);
    if (!asked({Statistic::limits_of_agreement, Statistic::concordance})) return;
    pair.limits_of_agreement = LimitsOfAgreement::undefined(why.value_or(not_asked));
    pair.concordance = Estimate::undefined(why.value_or(not_asked));
    if (why) return;
    x_.clear();
    y_.clear();
    for (const auto& [x, y] : scored_) {
      x_.push_back(value(x));
      y_.push_back(value(y));
    }
    if (asked({Statistic::limits_of_agreement}))
      pair.limits_of_agreement = agreement::limits_of_agreement(x_, y_, {.confidence = options_.confidence});
    if (asked({Statistic::concordance}))
      pair.concordance = agreement::concordance(x_, y_, options_.confidence);
  }

  const Columns& columns_;
  const AgreementOptions& options_;
  Proportions proportions_;
  bool tabulated_;  // the scale has few categories
  ByWeights<AgreementWeights> weights_;
  Kappas kappas_;
  std::vector<std::pair<std::int32_t, std::int32_t>> scored_;  // by both, places in the category list
  CrossTable table_;
  std::vector<stats::Counted> differences_;
  std::vector<double> x_, y_;
};

/// The limits that hold better near an end of the scale.
void add_offered(Measure& result, const Columns& columns, std::optional<std::size_t> key,
                 const NearAnEnd& near, const AgreementOptions& options) {
  if (near.icc || near.sem) {
    const VarianceLimits all = variance_limits_by_case(group_table(columns, key), options.confidence);
    VarianceLimits& offered = result.offered.group;
    if (near.icc) {
      offered.icc_agreement = all.icc_agreement;
      offered.icc_consistency = all.icc_consistency;
    }
    if (near.sem) {
      offered.sem_agreement = all.sem_agreement;
      offered.sem_consistency = all.sem_consistency;
    }
  }
  if (!near.pairs) return;
  result.offered.pairs.resize(result.pairs.size());
  base::in_parallel(result.pairs.size(), options.threads, [&](std::size_t i) {
    const auto first = columns.of(result.pairs[i].first), second = columns.of(result.pairs[i].second);
    std::vector<double> x, y;
    for (std::size_t c = 0; c < columns.cases; ++c)
      if (first[c] >= 0 && second[c] >= 0) {
        x.push_back(columns.scale.values[static_cast<std::size_t>(first[c])]);
        y.push_back(columns.scale.values[static_cast<std::size_t>(second[c])]);
      }
    result.offered.pairs[i] = pair_limits_by_case(x, y, options.confidence);
  });
}

}  // namespace

const Proportion& Proportions::of(std::size_t x, std::size_t n) {
  const auto [at, is_new] = known_.try_emplace({x, n});
  if (is_new) at->second = proportion(x, n, confidence_);
  return at->second;
}

Measure measure(const Columns& columns, std::optional<std::size_t> key, std::span<const RaterPair> pairs,
                const AgreementOptions& options) {
  Measure result;
  result.scale = columns.scale;
  add_group(result, columns, key, options);
  result.pairs.resize(pairs.size());
  // Stretches of pairs, so that the limits of a share of scores are computed once for many.
  // How the scores spread is counted beside them, so there are more stretches than threads.
  const std::size_t threads = std::max<std::size_t>(options.threads, 1);
  const std::size_t stretches = std::min(threads > 1 ? 4 * threads : 1, pairs.size());
  Spread spread;
  base::in_parallel(stretches + 1, threads, [&](std::size_t task) {
    if (task == 0) {
      spread = spread_of({&columns, 1}, key);
      return;
    }
    const std::size_t stretch = task - 1;
    PairStatistics statistics(columns, options);
    const std::size_t end = pairs.size() * (stretch + 1) / stretches;
    for (std::size_t i = pairs.size() * stretch / stretches; i < end; ++i)
      statistics.fill(result.pairs[i], pairs[i]);
  });
  add_offered(result, columns, key, add_cautions(result, spread, options.only), options);
  return result;
}

}  // namespace evenhand::agreement
