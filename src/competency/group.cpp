#include "competency/group.hpp"

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <functional>
#include <map>
#include <utility>

namespace evenhand::competency {
namespace {

using agreement::Reason;

agreement::KeyedScore keyed_score(std::size_t case_number, std::size_t key, std::size_t score) {
  return {static_cast<std::uint32_t>(case_number), static_cast<std::int32_t>(key),
          static_cast<std::int32_t>(score)};
}

bool counts(const ItemResult& result) {
  return result.decidable == Decidable::yes || result.decidable == Decidable::key_unconfirmed;
}

VerdictCounts verdicts_of(std::span<const Summary> raters) {
  VerdictCounts counted;
  for (const Summary& rater : raters) {
    if (rater.decision.provisional) ++counted.provisional;
    switch (rater.decision.verdict) {
      case Verdict::ready:
        ++counted.ready;
        break;
      case Verdict::not_yet:
        ++counted.not_yet;
        break;
      case Verdict::more_cases:
        ++counted.more_cases;
        break;
      case Verdict::not_shown:
        ++counted.not_shown;
        break;
      case Verdict::waits:
        ++counted.waits;
        break;
    }
  }
  return counted;
}

/// The scores of all raters by item, cases numbered over the group.
struct GroupScores {
  std::map<CaseId, std::size_t> case_numbers;
  std::map<std::size_t, GroupItem> items;
  std::map<std::size_t, std::vector<agreement::KeyedScore>> scores;
  std::vector<double> absolute;  // |score - key| by case
};

GroupScores scores_of(std::span<const Summary> raters) {
  GroupScores group;
  for (const Summary& rater : raters) {
    for (const CaseResult& each : rater.cases) {
      const std::size_t c = group.case_numbers.emplace(each.id, group.case_numbers.size()).first->second;
      group.absolute.resize(group.case_numbers.size());
      for (const ItemResult& result : each.items) {
        if (!counts(result)) continue;
        GroupItem& item = group.items[result.item];
        ++item.shown;
        if (!result.agrees) ++item.missed;
        if (!result.levels_off || !result.key || !result.score) continue;
        group.scores[result.item].push_back(keyed_score(c, *result.key, *result.score));
        group.absolute[c] += std::abs(*result.levels_off);
      }
    }
    for (const ItemSummary& item : rater.items)
      if (item.stands_out) ++group.items[item.item].raters_held_back;
  }
  return group;
}

/// Sums of squares of one rater's 0 and 1.
struct Squares {
  double between = 0.0, within = 0.0, df_between = 0.0, df_within = 0.0, scores = 0.0, size_term = 0.0;
  std::size_t cases = 0;
};

Squares squares_of(const Summary& rater) {
  std::vector<CaseCount> counted;
  double right = 0.0;
  Squares out;
  for (const CaseResult& each : rater.cases) {
    CaseCount count;
    for (const ItemResult& result : each.items) {
      if (!counts(result)) continue;
      ++count.scores;
      if (result.agrees) ++count.right;
    }
    if (count.scores == 0) continue;
    counted.push_back(count);
    right += static_cast<double>(count.right);
    out.scores += static_cast<double>(count.scores);
  }
  if (counted.size() < 2) return {};
  const double mean = right / out.scores;
  for (const CaseCount& count : counted) {
    const double m = static_cast<double>(count.scores);
    const double share = static_cast<double>(count.right) / m;
    out.between += m * (share - mean) * (share - mean);
    out.within += m * share * (1.0 - share);
    out.df_within += m - 1.0;
    out.size_term += m * m / out.scores;
  }
  out.cases = counted.size();
  out.df_between = static_cast<double>(counted.size() - 1);
  return out;
}

}  // namespace

CaseCorrelation case_correlation(std::span<const Summary> raters, double warning_above) {
  CaseCorrelation result;
  Squares all;
  for (const Summary& rater : raters) {
    const Squares one = squares_of(rater);
    if (one.cases == 0) continue;
    ++result.raters;
    result.cases += one.cases;
    all.between += one.between;
    all.within += one.within;
    all.df_between += one.df_between;
    all.df_within += one.df_within;
    all.scores += one.scores;
    all.size_term += one.size_term;
  }
  if (all.df_between <= 0.0 || all.df_within <= 0.0) {
    result.estimate = Reason("no rater has two cases with two scores that count");
    return result;
  }
  const double msb = all.between / all.df_between;
  const double msw = all.within / all.df_within;
  const double m0 = (all.scores - all.size_term) / all.df_between;
  if (msb + (m0 - 1.0) * msw <= 0.0) {
    result.estimate = Reason("every score of a rater came out alike");
    return result;
  }
  result.estimate = (msb - msw) / (msb + (m0 - 1.0) * msw);
  result.above_warning = *result.estimate > warning_above;
  return result;
}

GroupSummary summarize_group(std::span<const Summary> raters, const AnswerKey& key, const Standard& standard,
                             double confidence) {
  GroupSummary summary{.verdicts = verdicts_of(raters), .items = {}, .correlation = {}, .off = {}};
  GroupScores group = scores_of(raters);
  for (auto& [place, item] : group.items) {
    item.item = place;
    const auto scale = agreement::make_scale(key.items[place].categories);
    if (scale)
      item.against_key = agreement::disagreement(group.scores[place], *scale, group.case_numbers.size(),
                                                 group.absolute, confidence);
    summary.items.push_back(std::move(item));
  }
  std::ranges::stable_sort(summary.items, std::greater<>(), [](const GroupItem& item) {
    return item.against_key.share.estimate ? *item.against_key.share.estimate : 0.0;
  });
  summary.correlation = case_correlation(raters, standard.correlation_warning);
  std::map<int, std::size_t> off;
  for (const Summary& rater : raters)
    for (const OffCount& each : rater.off) off[each.levels] += each.times;
  for (const auto& [levels, times] : off) summary.off.push_back({levels, times});
  return summary;
}

}  // namespace evenhand::competency
