#include "agreement/group.hpp"

#include <algorithm>
#include <cstdint>
#include <utility>
#include <vector>

#include "agreement/category_counts.hpp"
#include "agreement/conger.hpp"
#include "agreement/gwet.hpp"
#include "agreement/light.hpp"
#include "agreement/rating_table.hpp"

namespace evenhand::agreement {
namespace {

constexpr std::size_t most_raters_for_light = 30;
constexpr Reason too_few_raters{"fewer than two raters"};
constexpr Reason too_few_cases{"fewer than two cases were scored by every rater"};
constexpr Reason too_many_cases{"too many cases to leave out one after the other"};
constexpr Reason too_many_pairs{"left out above 30 raters: it is a mean over all pairs of them"};

/// The raters with at least one score. The key is none of them.
std::vector<std::size_t> group_of(const Columns& columns, std::optional<std::size_t> key) {
  std::vector<std::size_t> group;
  for (std::size_t rater = 0; rater < columns.raters; ++rater) {
    if (rater == key) continue;
    const auto places = columns.of(rater);
    if (std::any_of(places.begin(), places.end(), [](auto place) { return place >= 0; }))
      group.push_back(rater);
  }
  return group;
}

/// How many scores of these raters there are, and how many cases have one of each.
Used used_of(const Columns& columns, const std::vector<std::size_t>& group) {
  std::vector<std::uint32_t> scores(columns.cases);
  for (const std::size_t rater : group) {
    const auto places = columns.of(rater);
    for (std::size_t i = 0; i < columns.cases; ++i) scores[i] += places[i] >= 0 ? 1U : 0U;
  }
  Used used{.raters = group.size()};
  for (const std::uint32_t n : scores) {
    const bool complete = n == group.size();
    used.cases += complete ? 1 : 0;
    (complete ? used.scores : used.left_out) += n;
  }
  return used;
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

/// The columns of the group alone, rater * cases + case.
std::vector<std::int32_t> places_of(const Columns& columns, const std::vector<std::size_t>& group) {
  std::vector<std::int32_t> places;
  places.reserve(group.size() * columns.cases);
  for (const std::size_t rater : group) {
    const auto own = columns.of(rater);
    places.insert(places.end(), own.begin(), own.end());
  }
  return places;
}

// --- on an interval scale

constexpr std::initializer_list<Statistic> from_mean_squares{Statistic::icc, Statistic::components,
                                                             Statistic::sem, Statistic::mdc95};

constexpr std::initializer_list<Statistic> of_the_table{Statistic::icc,      Statistic::components,
                                                        Statistic::icc_reml, Statistic::sem,
                                                        Statistic::mdc95,    Statistic::kendall_w};

void undefine_mean_squares(Measure& result, Reason reason, const StatisticSet& only) {
  if (only.has(Statistic::icc))
    for (Icc& icc : result.icc) icc = Icc::undefined(icc.form, reason);
  if (only.has(Statistic::components)) result.components_anova = Components::undefined(reason);
  if (only.has(Statistic::sem)) result.sem = Sem::undefined(reason);
  if (only.has(Statistic::mdc95)) result.mdc95 = {reason, reason};
}

void undefine_reml(Measure& result, Reason reason) {
  IccReml& reml = result.icc_reml;
  reml.components = Components::undefined(reason);
  for (Estimate* estimate : {&reml.agreement, &reml.consistency, &reml.agreement_mean, &reml.consistency_mean,
                             &reml.sem_agreement, &reml.sem_consistency})
    *estimate = Estimate::undefined(reason);
}

void add_mean_squares(Measure& result, const RatingTable& complete, const AgreementOptions& options) {
  const auto squares = stats::two_way_mean_squares(complete.values(), complete.cases(), complete.raters());
  if (!squares) return undefine_mean_squares(result, too_few_cases, options.only);
  if (options.only.has(Statistic::icc)) result.icc = icc_all(*squares, options.confidence);
  if (options.only.has(Statistic::components)) result.components_anova = components_anova(*squares);
  const Sem errors = sem(*squares, options.confidence);
  if (options.only.has(Statistic::sem)) result.sem = errors;
  if (options.only.has(Statistic::mdc95))
    result.mdc95 = {mdc95(errors.agreement.estimate), mdc95(errors.consistency.estimate)};
}

void add_interval_statistics(Measure& result, const RatingTable& all, const RatingTable& complete,
                             const AgreementOptions& options) {
  const bool reml_asked = options.only.has_any({Statistic::icc_reml, Statistic::components});
  if (!options.only.has_any(from_mean_squares) && !reml_asked) return;
  std::optional<Reason> why = no_interval(result.scale);
  if (!why && all.raters() < 2) why = too_few_raters;
  if (why) {
    undefine_mean_squares(result, *why, options.only);
    if (reml_asked) undefine_reml(result, *why);
    return;
  }
  add_mean_squares(result, complete, options);
  if (reml_asked) result.icc_reml = icc_reml(all, {.confidence = options.confidence});
  // A total has ends of its own; the levels of one item are too few to be cut in thirds.
  if (options.only.has(Statistic::sem) && result.scale.level == Level::interval && result.scale.size() > 3) {
    const auto thirds =
        sem_by_level(all, result.scale.values.front(), result.scale.values.back(), options.confidence);
    result.sem_by_third.assign(thirds.begin(), thirds.end());
  }
}

// --- by category

/// Alpha by one metric, resampled by case.
Estimate alpha_of(const AlphaUnits& units, AlphaMetric metric, const AgreementOptions& options) {
  const Value estimate = alpha(units, metric);
  if (!estimate) return {estimate, estimate, estimate, {}, false};
  std::vector<double> without_each;
  for (const Value& value : alpha_without_each(units, metric)) {
    if (!value) {
      without_each.clear();
      break;
    }
    without_each.push_back(*value);
  }
  const auto statistic = [&](std::span<const double> weights) -> std::optional<double> {
    const Value value = alpha(units, metric, weights);
    return value ? std::optional(*value) : std::nullopt;
  };
  return resampled_by_case(
      estimate, units.cases(), statistic, without_each,
      {.confidence = options.confidence,
       .bootstrap = {.resamples = options.resamples, .seed = options.seed, .threads = options.threads}});
}

void add_alpha(Measure& result, const Placings& placings, const AgreementOptions& options) {
  const Scale& scale = result.scale;
  const AlphaUnits units(CategoryCounts::of(placings), scale.values);
  Alpha& alpha = result.krippendorff_alpha;
  alpha.nominal = alpha_of(units, AlphaMetric::nominal, options);
  alpha.ordinal =
      scale.ordered() ? alpha_of(units, AlphaMetric::ordinal, options) : Estimate::undefined(no_order);
  const auto why = no_interval(scale);
  alpha.interval = why ? Estimate::undefined(*why) : alpha_of(units, AlphaMetric::interval, options);
  alpha.ratio = why ? Estimate::undefined(*why) : alpha_of(units, AlphaMetric::ratio, options);
}

/// Without each of the cases that count, by blanking it.
/// passes  over the cases that the coefficient makes
template <class Coefficient>
EstimateWithError jackknifed(const Placings& placings, const std::vector<std::size_t>& counting,
                             Coefficient coefficient, std::size_t passes, double confidence) {
  constexpr double most_steps = 1e9;  // some seconds
  const auto cases = static_cast<double>(placings.cases);
  if (static_cast<double>(counting.size()) * cases * static_cast<double>(passes) > most_steps)
    return without_limits(coefficient(placings), too_many_cases);
  std::vector<std::int32_t> places(placings.places.begin(), placings.places.end());
  const Placings blanked{places, placings.raters, placings.cases, placings.categories};
  const auto without = [&](std::size_t i) {
    const std::size_t case_ = counting[i];
    for (std::size_t r = 0; r < placings.raters; ++r) places[r * placings.cases + case_] = -1;
    const Value value = coefficient(blanked);
    for (std::size_t r = 0; r < placings.raters; ++r)
      places[r * placings.cases + case_] = placings.places[r * placings.cases + case_];
    return value;
  };
  return jackknifed_by_case(coefficient(placings), counting.size(), without, confidence);
}

/// Cases with at least so many scores.
std::vector<std::size_t> cases_with(const Placings& placings, std::size_t scores) {
  std::vector<std::size_t> cases;
  for (std::size_t i = 0; i < placings.cases; ++i) {
    std::size_t n = 0;
    for (std::size_t r = 0; r < placings.raters; ++r) n += placings.at(r, i) >= 0 ? 1 : 0;
    if (n >= scores) cases.push_back(i);
  }
  return cases;
}

void add_kappas(Measure& result, const Placings& placings, const AgreementOptions& options) {
  const auto weights = AgreementWeights::by_index(result.scale.size(), Weights::none);
  if (options.only.has(Statistic::fleiss_kappa)) {
    const auto counts = CategoryCounts::of(placings);
    result.fleiss_kappa.all_scores = with_error(fleiss_all_scores(counts, weights, options.confidence));
    result.fleiss_kappa.complete = fleiss_kappa(counts, placings.raters);
  }
  if (options.only.has(Statistic::conger_kappa))
    result.conger_kappa = jackknifed(
        placings, cases_with(placings, placings.raters),
        [&](const Placings& p) { return conger_kappa(p, weights); }, placings.raters, options.confidence);
  if (!options.only.has(Statistic::light_kappa)) return;
  if (placings.raters > most_raters_for_light)
    result.light_kappa = undefined(too_many_pairs);
  else
    result.light_kappa = jackknifed(
        placings, cases_with(placings, 2), [&](const Placings& p) { return light_kappa(p, weights); },
        placings.raters * placings.raters, options.confidence);
}

void add_gwet(Measure& result, const Placings& placings, const AgreementOptions& options) {
  const auto counts = CategoryCounts::of(placings);
  const auto of = [&](Weights weights) {
    return with_error(
        gwet(counts, AgreementWeights::by_index(result.scale.size(), weights), options.confidence));
  };
  result.gwet = {of(Weights::none), undefined(no_order), undefined(no_order)};
  if (!result.scale.ordered()) return;
  result.gwet.linear = of(Weights::linear);
  result.gwet.quadratic = of(Weights::quadratic);
}

void add_category_statistics(Measure& result, const Placings& placings, const AgreementOptions& options) {
  if (options.only.has(Statistic::krippendorff_alpha)) add_alpha(result, placings, options);
  if (result.scale.size() > most_kappa_categories) {
    result.fleiss_kappa.all_scores = result.conger_kappa = result.light_kappa = undefined(continuous);
    result.fleiss_kappa.complete = FleissKappas::undefined(continuous, 0);
    result.gwet = {undefined(continuous), undefined(continuous), undefined(continuous)};
    return;
  }
  add_kappas(result, placings, options);
  if (options.only.has(Statistic::gwet)) add_gwet(result, placings, options);
}

}  // namespace

std::optional<Reason> no_interval(const Scale& scale) {
  if (!scale.ordered()) return no_distances;
  if (!scale.numeric) return labels;
  return {};
}

EstimateWithError undefined(Reason reason) { return {Estimate::undefined(reason), reason}; }

EstimateWithError with_error(const ChanceCorrected& coefficient) {
  return {coefficient.coefficient, coefficient.se};
}

RatingTable group_table(const Columns& columns, std::optional<std::size_t> key) {
  return table_of(columns, group_of(columns, key));
}

void add_group(Measure& result, const Columns& columns, std::optional<std::size_t> key,
               const AgreementOptions& options) {
  for (std::size_t i = 0; i < icc_forms.size(); ++i) result.icc[i].form = icc_forms[i];
  const auto group = group_of(columns, key);
  result.used = used_of(columns, group);
  if (options.only.has_any(of_the_table)) {
    const RatingTable all = table_of(columns, group);
    add_interval_statistics(result, all, all.complete_cases(), options);
    if (options.only.has(Statistic::kendall_w))
      result.kendall_w = columns.scale.ordered() ? kendall_w(all) : RankConcordance::undefined(no_order);
  }
  if (options.only.has_any({Statistic::krippendorff_alpha, Statistic::fleiss_kappa, Statistic::conger_kappa,
                            Statistic::light_kappa, Statistic::gwet})) {
    const auto places = places_of(columns, group);
    add_category_statistics(result, {places, group.size(), columns.cases, columns.scale.size()}, options);
  }
}

}  // namespace evenhand::agreement
