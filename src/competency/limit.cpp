#include "competency/limit.hpp"

#include <algorithm>

#include "stats/distributions.hpp"
#include "stats/proportion.hpp"

namespace evenhand::competency {
namespace {

agreement::Value observed_effect(std::span<const CaseCount> cases, const Limit& limit) {
  if (limit.cases < 2) return agreement::Reason("one case shows no spread between cases");
  if (limit.right == 0 || limit.right == limit.scores)
    return agreement::Reason("every score came out alike, so the cases show no spread");
  const double n = static_cast<double>(limit.cases);
  const double total = static_cast<double>(limit.scores);
  const double p = *limit.share;
  double squares = 0.0;
  for (const CaseCount& each : cases) {
    const double off = static_cast<double>(each.right) - p * static_cast<double>(each.scores);
    squares += off * off;
  }
  const double variance = n / (n - 1.0) * squares / (total * total);
  return variance / (p * (1.0 - p) / total);
}

void set_limits(Limit& limit) {
  if (limit.cases < 2) {
    limit.effective_scores = limit.lower = limit.upper =
        agreement::Reason("one case says nothing about the next; two are the least");
    return;
  }
  const auto z = stats::normal_quantile(limit.level);
  const auto t = stats::t_quantile(limit.level, static_cast<double>(limit.cases - 1));
  if (!z || !t) {
    limit.effective_scores = limit.lower = limit.upper = agreement::Reason("the level lies outside (0, 1)");
    return;
  }
  const double effective = static_cast<double>(limit.scores) / limit.effect * (*z / *t) * (*z / *t);
  const double right = std::min(*limit.share * effective, effective);
  limit.effective_scores = effective;
  const auto lower = stats::clopper_pearson_lower(right, effective, limit.level);
  const auto upper = stats::clopper_pearson_upper(right, effective, limit.level);
  limit.lower = lower ? agreement::Value(*lower) : agreement::Reason("too few effective scores");
  limit.upper = upper ? agreement::Value(*upper) : agreement::Reason("too few effective scores");
}

}  // namespace

Limit agreement_limit(std::span<const CaseCount> cases, double level, double correlation_floor) {
  Limit limit;
  limit.level = level;
  for (const CaseCount& each : cases) {
    if (each.scores == 0) continue;
    ++limit.cases;
    limit.scores += each.scores;
    limit.right += each.right;
  }
  if (limit.scores == 0) {
    limit.share = limit.observed_effect = limit.effective_scores = limit.lower = limit.upper =
        agreement::Reason("no decidable score");
    return limit;
  }
  limit.share = static_cast<double>(limit.right) / static_cast<double>(limit.scores);
  limit.items_per_case = static_cast<double>(limit.scores) / static_cast<double>(limit.cases);
  limit.observed_effect = observed_effect(cases, limit);
  limit.floor_effect = 1.0 + correlation_floor * (limit.items_per_case - 1.0);
  limit.effect =
      limit.observed_effect ? std::max(*limit.observed_effect, limit.floor_effect) : limit.floor_effect;
  set_limits(limit);
  return limit;
}

}  // namespace evenhand::competency
