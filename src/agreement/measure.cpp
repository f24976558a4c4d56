#include "agreement/measure.hpp"

#include <vector>

#include "agreement/rating_table.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason no_order{"nominal categories have no order"};
constexpr Reason no_distances{"nominal categories have no distances"};
constexpr Reason labels{"the categories are labels, not numbers"};
constexpr Reason continuous{"more than 250 categories: the scores are on a continuous scale"};
constexpr Reason too_few_raters{"fewer than two raters"};
constexpr Reason too_few_cases{"fewer than two cases were scored by every rater"};

/// Why interval statistics do not apply; nothing when they do.
std::optional<Reason> no_interval(const Scale& scale) {
  if (!scale.ordered()) return no_distances;
  if (!scale.numeric) return labels;
  return {};
}

/// The raters with at least one score. The key is none of them.
std::vector<std::size_t> group_of(const Columns& columns, std::optional<std::size_t> key) {
  std::vector<std::size_t> group;
  for (std::size_t rater = 0; rater < columns.raters; ++rater) {
    if (rater == key) continue;
    for (const auto place : columns.of(rater))
      if (place >= 0) {
        group.push_back(rater);
        break;
      }
  }
  return group;
}

RatingTable table_of(const Columns& columns, const std::vector<std::size_t>& group) {
  RatingTable table(columns.cases, group.size());
  for (std::size_t j = 0; j < group.size(); ++j) {
    const auto places = columns.of(group[j]);
    for (std::size_t i = 0; i < columns.cases; ++i)
      if (places[i] >= 0) (void)table.set(i, j, columns.scale.values[static_cast<std::size_t>(places[i])]);
  }
  return table;
}

void undefine_group(Measure& result, Reason reason, const StatisticSet& only) {
  if (only.has(Statistic::icc))
    for (Icc& icc : result.icc) icc = Icc::undefined(icc.form, reason);
  if (only.has(Statistic::components)) result.components_anova = Components::undefined(reason);
  if (only.has(Statistic::sem)) result.sem = Sem::undefined(reason);
  if (only.has(Statistic::mdc95)) result.mdc95 = {reason, reason};
}

void add_group(Measure& result, const Columns& columns, std::optional<std::size_t> key,
               const AgreementOptions& options) {
  for (std::size_t i = 0; i < icc_forms.size(); ++i) result.icc[i].form = icc_forms[i];
  const auto group = group_of(columns, key);
  const RatingTable all = table_of(columns, group);
  const RatingTable complete = all.complete_cases();
  result.used = {group.size(), complete.cases(), complete.ratings(), all.ratings() - complete.ratings()};

  if (!options.only.has_any({Statistic::icc, Statistic::components, Statistic::sem, Statistic::mdc95}))
    return;
  if (const auto why = no_interval(columns.scale)) return undefine_group(result, *why, options.only);
  if (group.size() < 2) return undefine_group(result, too_few_raters, options.only);
  const auto squares = stats::two_way_mean_squares(complete.values(), complete.cases(), complete.raters());
  if (!squares) return undefine_group(result, too_few_cases, options.only);
  if (options.only.has(Statistic::icc)) result.icc = icc_all(*squares, options.confidence);
  if (options.only.has(Statistic::components)) result.components_anova = components_anova(*squares);
  const Sem errors = sem(*squares, options.confidence);
  if (options.only.has(Statistic::sem)) result.sem = errors;
  if (options.only.has(Statistic::mdc95))
    result.mdc95 = {mdc95(errors.agreement.estimate), mdc95(errors.consistency.estimate)};
}

/// Computes pair after pair on one scale, with its weights and buffers at hand.
class PairStatistics {
 public:
  PairStatistics(const Columns& columns, const AgreementOptions& options, Proportions& proportions)
      : columns_(columns), options_(options), proportions_(proportions) {
    if (has_kappa())
      for (const auto weights : {Weights::none, Weights::linear, Weights::quadratic})
        weights_.push_back(AgreementWeights::by_index(columns.scale.size(), weights));
  }

  Pair of(RaterPair raters) {
    Pair pair{};
    pair.first = raters.first;
    pair.second = raters.second;
    read(raters);
    pair.n = x_.size();
    add_shares(pair);
    add_kappa(pair);
    add_differences(pair);
    return pair;
  }

 private:
  bool has_kappa() const { return columns_.scale.size() <= most_kappa_categories; }

  void read(RaterPair raters) {
    x_.clear();
    y_.clear();
    x_places_.clear();
    y_places_.clear();
    const auto first = columns_.of(raters.first), second = columns_.of(raters.second);
    for (std::size_t i = 0; i < columns_.cases; ++i) {
      if (first[i] < 0 || second[i] < 0) continue;
      x_places_.push_back(static_cast<std::size_t>(first[i]));
      y_places_.push_back(static_cast<std::size_t>(second[i]));
      x_.push_back(columns_.scale.values[x_places_.back()]);
      y_.push_back(columns_.scale.values[y_places_.back()]);
    }
  }

  void add_shares(Pair& pair) {
    std::size_t exact = 0, within_one = 0;
    for (std::size_t i = 0; i < x_.size(); ++i) {
      exact += x_places_[i] == y_places_[i] ? 1 : 0;
      within_one += scores_within_one(x_[i], y_[i]) ? 1 : 0;
    }
    if (options_.only.has(Statistic::exact)) pair.exact = proportions_.of(exact, x_.size());
    if (!options_.only.has(Statistic::within_one)) return;
    pair.within_one =
        columns_.scale.ordered() ? proportions_.of(within_one, x_.size()) : Proportion::undefined(no_order);
  }

  void add_kappa(Pair& pair) {
    if (!options_.only.has_any({Statistic::kappa, Statistic::prevalence_index, Statistic::bias_index}))
      return;
    if (!has_kappa()) {
      pair.kappa = {Kappa::undefined(continuous), Kappa::undefined(continuous), Kappa::undefined(continuous)};
      pair.prevalence_index = pair.bias_index = continuous;
      return;
    }
    CrossTable table(columns_.scale.size());
    for (std::size_t i = 0; i < x_.size(); ++i) table.add(x_places_[i], y_places_[i]);
    pair.prevalence_index = prevalence_index(table);
    pair.bias_index = bias_index(table);
    if (!options_.only.has(Statistic::kappa)) return;
    pair.kappa = {kappa(table, weights_[0], options_.confidence), Kappa::undefined(no_order),
                  Kappa::undefined(no_order)};
    if (!columns_.scale.ordered()) return;
    pair.kappa.linear = kappa(table, weights_[1], options_.confidence);
    pair.kappa.quadratic = kappa(table, weights_[2], options_.confidence);
  }

  void add_differences(Pair& pair) {
    const auto why = no_interval(columns_.scale);
    if (options_.only.has(Statistic::bias))
      pair.bias = why ? Bias::undefined(*why) : agreement::bias(x_, y_, options_.confidence);
    if (options_.only.has(Statistic::limits_of_agreement))
      pair.limits_of_agreement =
          why ? LimitsOfAgreement::undefined(*why)
              : agreement::limits_of_agreement(x_, y_, {.confidence = options_.confidence});
  }

  const Columns& columns_;
  const AgreementOptions& options_;
  Proportions& proportions_;
  std::vector<AgreementWeights> weights_;
  std::vector<double> x_, y_;
  std::vector<std::size_t> x_places_, y_places_;
};

}  // namespace

const Proportion& Proportions::of(std::size_t x, std::size_t n) {
  const auto [at, is_new] = known_.try_emplace({x, n});
  if (is_new) at->second = proportion(x, n, confidence_);
  return at->second;
}

Measure measure(const Columns& columns, std::optional<std::size_t> key, std::span<const RaterPair> pairs,
                const AgreementOptions& options, Proportions& proportions) {
  Measure result;
  result.scale = columns.scale;
  add_group(result, columns, key, options);
  PairStatistics statistics(columns, options, proportions);
  result.pairs.reserve(pairs.size());
  for (const RaterPair pair : pairs) result.pairs.push_back(statistics.of(pair));
  return result;
}

}  // namespace evenhand::agreement
