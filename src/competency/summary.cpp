#include "competency/summary.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <map>
#include <tuple>

#include "agreement/clustered.hpp"

namespace evenhand::competency {
namespace {

using agreement::Estimate;
using agreement::Reason;
using agreement::Value;

agreement::KeyedScore keyed_score(std::size_t case_number, std::size_t key, std::size_t score) {
  return {static_cast<std::uint32_t>(case_number), static_cast<std::int32_t>(key),
          static_cast<std::int32_t>(score)};
}

bool counts(const ItemResult& result) { return result.counts(); }

/// Sums by case of what counts; one entry a case.
struct CaseSums {
  std::vector<double> shown, agree, within_one, given, signed_error, absolute;
};

CaseSums sums_of(std::span<const CaseResult> cases) {
  const std::vector<double> zeros(cases.size());
  CaseSums sums{zeros, zeros, zeros, zeros, zeros, zeros};
  for (std::size_t c = 0; c < cases.size(); ++c) {
    for (const ItemResult& result : cases[c].items) {
      if (!counts(result)) continue;
      sums.shown[c] += 1.0;
      sums.agree[c] += result.agrees ? 1.0 : 0.0;
      if (!result.levels_off) continue;
      sums.given[c] += 1.0;
      sums.within_one[c] += std::abs(*result.levels_off) <= 1 ? 1.0 : 0.0;
      sums.signed_error[c] += *result.levels_off;
      sums.absolute[c] += std::abs(*result.levels_off);
    }
  }
  return sums;
}

Estimate share_of(std::span<const double> part, std::span<const double> whole, double confidence) {
  Estimate estimate = agreement::ratio_by_case(part, whole, confidence);
  const auto outside = [](const Value& limit) { return limit && (*limit < 0.0 || *limit > 1.0); };
  estimate.outside_range = outside(estimate.lower) || outside(estimate.upper);
  return estimate;
}

BiasPosition position_of(const TotalBias& bias) {
  if (!bias.points.lower || !bias.points.upper) return BiasPosition::unknown;
  if (*bias.points.upper < -bias.margin) return BiasPosition::low;
  if (*bias.points.lower > bias.margin) return BiasPosition::high;
  const bool inside = *bias.points.lower >= -bias.margin && *bias.points.upper <= bias.margin;
  return inside ? BiasPosition::inside : BiasPosition::open;
}

TotalBias bias_of(const CaseSums& sums, const AnswerKey& key, const BiasBox& box) {
  TotalBias bias{.points = agreement::ratio_by_case(sums.signed_error, sums.given, box.confidence)};
  bias.items = static_cast<std::size_t>(
      std::ranges::count_if(key.items, [](const KeyedItem& item) { return !item.categories.empty(); }));
  bias.margin = box.points;
  bias.confidence = box.confidence;
  for (Value* value : {&bias.points.estimate, &bias.points.lower, &bias.points.upper})
    if (*value) *value = **value * static_cast<double>(bias.items);
  if (key.instrument == box.instrument) bias.position = position_of(bias);
  return bias;
}

WideErrors wide_errors(std::span<const CaseResult> cases, double flag_above) {
  WideErrors wide;
  for (const CaseResult& each : cases) {
    for (const ItemResult& result : each.items) {
      if (!counts(result) || !result.levels_off) continue;
      ++wide.scores;
      if (std::abs(*result.levels_off) >= 2) ++wide.wide;
    }
  }
  if (wide.scores == 0) {
    wide.share = Reason("no score stands beside a key");
    return wide;
  }
  wide.share = static_cast<double>(wide.wide) / static_cast<double>(wide.scores);
  wide.flagged = *wide.share > flag_above;
  return wide;
}

/// The items in the order of the instrument, with their statistics.
std::vector<ItemSummary> item_summaries(std::span<const CaseResult> cases, const AnswerKey& key,
                                        const CaseSums& sums, double confidence) {
  std::map<std::size_t, ItemSummary> items;
  std::map<std::size_t, std::vector<agreement::KeyedScore>> scores;
  for (std::size_t c = 0; c < cases.size(); ++c) {
    for (const ItemResult& result : cases[c].items) {
      if (!counts(result)) continue;
      ItemSummary& item = items[result.item];
      item.item = result.item;
      ++item.shown;
      if (!result.agrees) ++item.missed;
      if (result.abstained()) ++item.abstained;
      if (result.key && result.score)
        scores[result.item].push_back(keyed_score(c, *result.key, *result.score));
    }
  }
  std::vector<ItemSummary> out;
  for (auto& [place, item] : items) {
    const auto scale = agreement::make_scale(key.items[place].categories);
    if (scale)
      item.against_key =
          agreement::disagreement(scores[place], *scale, cases.size(), sums.absolute, confidence);
    out.push_back(std::move(item));
  }
  return out;
}

/// Marks what stands out at the look that stands: the last one, or all cases before the first look.
void mark_items(std::vector<ItemSummary>& items, const Decision& decision, const AnswerKey& key) {
  const Look& look = decision.looks.empty() ? decision.so_far : decision.looks.back();
  for (ItemSummary& item : items) {
    const auto at = std::ranges::find(look.items, key.items[item.item].id, &ItemShowing::item);
    item.stands_out = at != look.items.end() && at->stands_out;
  }
}

void set_mean_kappa(Summary& summary) {
  double sum = 0.0;
  for (const ItemSummary& item : summary.items) {
    const agreement::Value& kappa = item.against_key.kappa.linear.estimate;
    if (!kappa) continue;
    sum += *kappa;
    ++summary.kappa_items;
  }
  if (summary.kappa_items == 0)
    summary.mean_kappa = Reason("no item has a kappa");
  else
    summary.mean_kappa = sum / static_cast<double>(summary.kappa_items);
}

std::vector<Place> worst_places(std::span<const CaseResult> cases, const Difficulty& others,
                                std::size_t most) {
  std::vector<std::tuple<int, double, std::size_t, Place>> found;
  for (std::size_t c = 0; c < cases.size(); ++c) {
    for (std::size_t i = 0; i < cases[c].items.size(); ++i) {
      const ItemResult& result = cases[c].items[i];
      if (!counts(result) || result.agrees) continue;
      const OthersOn on = others.others(result);
      const double missed =
          on.raters == 0 ? 1.0 : static_cast<double>(on.missed) / static_cast<double>(on.raters);
      found.emplace_back(-std::abs(result.levels_off.value_or(1)), missed, found.size(), Place{c, i, on});
    }
  }
  std::ranges::sort(found, {}, [](const auto& each) {
    return std::tuple(std::get<0>(each), std::get<1>(each), std::get<2>(each));
  });
  std::vector<Place> out;
  for (const auto& each : found)
    if (out.size() < most) out.push_back(std::get<Place>(each));
  return out;
}

std::vector<OffCount> off_counts(std::span<const CaseResult> cases) {
  std::map<int, std::size_t> times;
  for (const CaseResult& each : cases)
    for (const ItemResult& result : each.items)
      if (counts(result) && result.levels_off) ++times[*result.levels_off];
  std::vector<OffCount> out;
  for (const auto& [levels, n] : times) out.push_back({levels, n});
  return out;
}

std::vector<SlipCount> count_slips(std::span<const CaseResult> cases, const NameSlips& name_slips) {
  std::map<Slip, std::size_t> times;
  for (const CaseResult& each : cases)
    for (const ItemResult& result : each.items)
      for (const Slip slip : name_slips(result)) ++times[slip];
  std::vector<SlipCount> out;
  for (const auto& [slip, n] : times) out.push_back({slip, n});
  return out;
}

std::size_t unconfirmed(std::span<const CaseResult> cases) {
  return static_cast<std::size_t>(std::ranges::count_if(cases, [](const CaseResult& each) {
    return std::ranges::any_of(
        each.items, [](const ItemResult& result) { return result.decidable == Decidable::key_unconfirmed; });
  }));
}

DescribedCount described_count(std::span<const CaseResult> cases) {
  DescribedCount all;
  for (const CaseResult& each : cases)
    for (const ItemResult& result : each.items) {
      if (!counts(result)) continue;
      all.open += result.described == Described::open;
      all.accepted += result.described == Described::accepted;
      all.not_accepted += result.described == Described::not_accepted;
    }
  return all;
}

std::size_t scored_where_no_level(std::span<const CaseResult> cases) {
  std::size_t n = 0;
  for (const CaseResult& each : cases)
    for (const ItemResult& result : each.items)
      if (result.decidable == Decidable::key_is_status && result.score) ++n;
  return n;
}

}  // namespace

Result<Summary> summarize(const RaterResults& results, const AnswerKey& key, const Standard& standard,
                          const Difficulty& others, const SummarizeOptions& options) {
  auto decision = decide(scored_cases(results, key), standard,
                         {.attempts = options.attempts, .unconfirmed = Unconfirmed::counted_provisionally});
  if (!decision) return tl::unexpected(decision.error());
  const CaseSums sums = sums_of(results.cases);
  Summary summary;
  summary.rater = results.rater;
  summary.decision = *std::move(decision);
  summary.cases = results.cases;
  summary.agreement = share_of(sums.agree, sums.shown, options.confidence);
  summary.within_one = share_of(sums.within_one, sums.shown, options.confidence);
  summary.bias = bias_of(sums, key, standard.bias);
  summary.wide = wide_errors(results.cases, standard.two_levels);
  summary.items = item_summaries(results.cases, key, sums, options.confidence);
  mark_items(summary.items, summary.decision, key);
  set_mean_kappa(summary);
  summary.worst = worst_places(results.cases, others, options.worst);
  if (options.name_slips) summary.slips = count_slips(results.cases, options.name_slips);
  summary.next = practice_next(results.cases, key, options.practice_cases);
  summary.off = off_counts(results.cases);
  summary.course = course_of(
      results, key,
      {.true_seconds = options.true_seconds, .usual = options.usual, .confidence = options.confidence});
  summary.mix = mix_of(results.cases, key, standard.blueprint, options.high_is_better);
  summary.unconfirmed_cases = unconfirmed(results.cases);
  summary.scored_where_no_level = scored_where_no_level(results.cases);
  summary.repeats = results.repeats;
  summary.without_key = results.without_key;
  summary.described = described_count(results.cases);
  return summary;
}

}  // namespace evenhand::competency
