#include "agreement/agreement.hpp"

#include <algorithm>
#include <cmath>
#include <unordered_set>
#include <utility>

#include "agreement/measure.hpp"

namespace evenhand::agreement {
namespace {

constexpr std::size_t most_raters_for_all_pairs = 30;
constexpr Reason no_key{"there is no reference key"};
constexpr Reason not_asked{"not asked for"};

Result<void> check_names(const std::vector<std::string>& names, std::string_view what) {
  if (names.empty()) return fail(Errc::invalid, "there is no {}", what);
  std::unordered_set<std::string_view> seen;
  for (const auto& name : names)
    if (!seen.insert(name).second) return fail(Errc::invalid, "{} '{}' stands twice", what, name);
  return {};
}

Result<void> check(const ScoreMatrix& scores, const AgreementOptions& options) {
  for (const auto& [names, what] : {std::pair{&scores.raters, "rater"}, std::pair{&scores.cases, "case"},
                                    std::pair{&scores.items, "item"}})
    if (auto ok = check_names(*names, what); !ok) return ok;
  if (!(options.confidence > 0.0 && options.confidence < 1.0))
    return fail(Errc::invalid, "confidence {}: must lie between 0 and 1, such as 0.95", options.confidence);
  if (scores.items.size() > 1 && std::ranges::find(scores.items, "total") != scores.items.end())
    return fail(Errc::invalid,
                "item 'total' bears the name of the sum of the items; leave it out or rename it");
  if (scores.key && *scores.key >= scores.raters.size())
    return fail(Errc::invalid, "the key is rater number {}, but there are {} raters", *scores.key + 1,
                scores.raters.size());
  if (options.pairs == PairChoice::with_key && !scores.key)
    return fail(Errc::invalid, "pairs with the key were asked for, but no rater is the key");
  const std::size_t cells = scores.items.size() * scores.raters.size() * scores.cases.size();
  if (scores.cells.size() != cells)
    return fail(Errc::invalid, "{} cells where items, raters and cases make {}", scores.cells.size(), cells);
  const auto wrong =
      std::find_if(scores.cells.begin(), scores.cells.end(), [&](const ScoreMatrix::Cell& cell) {
        return cell.category >= static_cast<std::int32_t>(scores.categories.size());
      });
  if (wrong != scores.cells.end())
    return fail(Errc::invalid, "a cell names category number {}, but there are {}", wrong->category + 1,
                scores.categories.size());
  return {};
}

InputSummary summary_of(const ScoreMatrix& scores, Level level) {
  InputSummary input;
  input.raters = scores.raters.size() - (scores.key ? 1 : 0);
  input.cases = scores.cases.size();
  input.items = scores.items.size();
  input.level = level;
  if (scores.key) input.key = scores.raters[*scores.key];
  for (std::size_t item = 0; item < scores.items.size(); ++item)
    for (std::size_t rater = 0; rater < scores.raters.size(); ++rater) {
      if (rater == scores.key) continue;
      for (std::size_t i = 0; i < scores.cases.size(); ++i)
        ++(scores.at(item, rater, i).category < 0 ? input.missing : input.scores);
    }
  return input;
}

/// Pairs with the key first, then the others in order of first appearance.
std::vector<RaterPair> pairs_of(const ScoreMatrix& scores, const AgreementOptions& options) {
  if (!options.only.has_any({Statistic::exact, Statistic::within_one, Statistic::kappa,
                             Statistic::prevalence_index, Statistic::bias_index, Statistic::gwet,
                             Statistic::brennan_prediger, Statistic::bias, Statistic::limits_of_agreement,
                             Statistic::concordance, Statistic::marginal_homogeneity}))
    return {};
  std::vector<std::size_t> raters;
  for (std::size_t rater = 0; rater < scores.raters.size(); ++rater)
    if (rater != scores.key) raters.push_back(rater);
  std::vector<RaterPair> pairs;
  if (scores.key)
    for (const std::size_t rater : raters) pairs.push_back({rater, *scores.key});
  const bool all = options.pairs == PairChoice::all ||
                   (options.pairs == PairChoice::automatic && raters.size() <= most_raters_for_all_pairs);
  if (all)
    for (std::size_t a = 0; a < raters.size(); ++a)
      for (std::size_t b = a + 1; b < raters.size(); ++b) pairs.push_back({raters[a], raters[b]});
  return pairs;
}

/// Sum of |score - key| over all items, one entry a case.
std::vector<double> absolute_by_case(const std::vector<std::vector<KeyedScore>>& items, const Scale& scale,
                                     std::size_t cases) {
  std::vector<double> sums(cases);
  for (const auto& item : items)
    for (const auto& [case_, key, score] : item)
      sums[case_] += std::abs(scale.values[static_cast<std::size_t>(score)] -
                              scale.values[static_cast<std::size_t>(key)]);
  return sums;
}

void add_disagreement(AgreementResult& result, const std::vector<Columns>& items,
                      const std::optional<Columns>& total, std::size_t key, double confidence) {
  std::vector<std::vector<KeyedScore>> keyed;
  for (const Columns& item : items) keyed.push_back(keyed_scores(item, key));
  const Scale& scale = items.front().scale;
  const auto all = absolute_by_case(keyed, scale, items.front().cases);
  for (std::size_t i = 0; i < items.size(); ++i)
    result.measures[i].disagreement = disagreement(keyed[i], scale, items[i].cases, all, confidence);
  if (total)
    result.measures.back().disagreement =
        disagreement(keyed_scores(*total, key), total->scale, total->cases, {}, confidence);
}

void undefine_across_items(AcrossItems& across, Reason reason) {
  across.exact = across.within_one = across.bias = Estimate::undefined(reason);
  across.mean_item_kappa = {{reason, 0}, {reason, 0}, {reason, 0}};
}

}  // namespace

Result<AgreementResult> agreement(const ScoreMatrix& scores, const AgreementOptions& options) {
  if (auto ok = check(scores, options); !ok) return tl::unexpected(ok.error());
  const auto scale = make_scale(scores.categories, options.level);
  if (!scale) return tl::unexpected(scale.error());

  std::vector<Columns> items;
  for (std::size_t item = 0; item < scores.items.size(); ++item)
    items.push_back(item_columns(scores, *scale, item));
  const auto total = items.size() > 1 ? total_columns(scores, *scale) : std::nullopt;

  AgreementResult result;
  result.input = summary_of(scores, scale->level);
  const auto pairs = pairs_of(scores, options);
  Proportions proportions(options.confidence);
  for (std::size_t item = 0; item < items.size(); ++item) {
    Measure& made =
        result.measures.emplace_back(measure(items[item], scores.key, pairs, options, proportions));
    if (!scores.items[item].empty()) made.item = scores.items[item];
  }
  if (total) {
    Measure& made = result.measures.emplace_back(measure(*total, scores.key, pairs, options, proportions));
    made.item = "total";
    made.total = true;
  }

  const bool disagreement_asked = options.only.has(Statistic::disagreement);
  for (Measure& made : result.measures)
    made.disagreement = Disagreement::undefined(disagreement_asked ? no_key : not_asked);
  if (disagreement_asked && scores.key)
    add_disagreement(result, items, total, *scores.key, options.confidence);

  if (!options.only.has(Statistic::across_items)) {
    undefine_across_items(result.across_items, not_asked);
  } else if (!scores.key) {
    undefine_across_items(result.across_items, no_key);
  } else {
    result.across_items = across_items(items, *scores.key, options.confidence);
  }
  return result;
}

}  // namespace evenhand::agreement
