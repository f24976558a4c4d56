#include "agreement/agreement.hpp"

#include <algorithm>
#include <cmath>
#include <unordered_set>
#include <utility>

#include "agreement/cautions.hpp"
#include "agreement/measure.hpp"

namespace evenhand::agreement {
namespace {

constexpr std::size_t most_raters_for_all_pairs = 30;
constexpr Reason no_key{"there is no reference key"};

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
std::vector<double> absolute_by_case(std::span<const Columns> items, std::size_t key) {
  std::vector<double> sums(items.front().cases);
  for (const Columns& item : items)
    for (const auto& [case_, expected, score] : keyed_scores(item, key))
      sums[case_] += std::abs(item.scale.values[static_cast<std::size_t>(score)] -
                              item.scale.values[static_cast<std::size_t>(expected)]);
  return sums;
}

void undefine_across_items(AcrossItems& across, Reason reason) {
  across.exact = across.within_one = across.bias = Estimate::undefined(reason);
  across.mean_item_kappa = {{reason, 0}, {reason, 0}, {reason, 0}};
  across.mean_item_kappa_limits = {Estimate::undefined(reason), Estimate::undefined(reason),
                                   Estimate::undefined(reason)};
  across.components.variance.fill(reason);
}

}  // namespace

Result<Agreement> Agreement::of(const ScoreMatrix& scores, const AgreementOptions& options) {
  if (auto ok = check(scores, options); !ok) return tl::unexpected(ok.error());
  const auto scale = make_scale(scores.categories, options.level);
  if (!scale) return tl::unexpected(scale.error());

  Agreement made;
  made.options_ = options;
  made.input_ = summary_of(scores, scale->level);
  made.items_ = scores.items;
  made.key_ = scores.key;
  made.pairs_ = pairs_of(scores, options);
  for (std::size_t item = 0; item < scores.items.size(); ++item)
    made.columns_.push_back(item_columns(scores, *scale, item));
  if (scores.key && options.only.has(Statistic::disagreement))
    made.disagreement_by_case_ = absolute_by_case(made.columns_, *scores.key);
  if (scores.items.size() > 1)
    if (auto total = total_columns(scores, *scale)) made.columns_.push_back(std::move(*total));
  return made;
}

Measure Agreement::measure(std::size_t place) const {
  const Columns& columns = columns_[place];
  Measure made = agreement::measure(columns, key_, pairs_, options_);
  made.total = place >= items_.size();
  if (made.total)
    made.item = "total";
  else if (!items_[place].empty())
    made.item = items_[place];
  if (!options_.only.has(Statistic::disagreement))
    made.disagreement = Disagreement::undefined(not_asked);
  else if (!key_)
    made.disagreement = Disagreement::undefined(no_key);
  else {
    made.disagreement =
        disagreement(keyed_scores(columns, *key_), columns.scale, columns.cases,
                     made.total ? std::span<const double>() : disagreement_by_case_, options_.confidence);
    add_cautions(made, columns, *key_);
  }
  return made;
}

AcrossItems Agreement::across_items() const {
  if (options_.only.has(Statistic::across_items) && key_)
    return agreement::across_items(items(), *key_, options_);
  AcrossItems none;
  const bool asked = options_.only.has(Statistic::across_items);
  undefine_across_items(none, asked ? no_key : not_asked);
  if (asked && options_.only.has(Statistic::components)) add_facet_components(none, items(), key_);
  return none;
}

Result<AgreementResult> agreement(const ScoreMatrix& scores, const AgreementOptions& options) {
  const auto made = Agreement::of(scores, options);
  if (!made) return tl::unexpected(made.error());
  AgreementResult result;
  result.input = made->input();
  for (std::size_t place = 0; place < made->measures(); ++place)
    result.measures.push_back(made->measure(place));
  result.across_items = made->across_items();
  return result;
}

}  // namespace evenhand::agreement
