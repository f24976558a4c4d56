#include "competency/learning_curve.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

namespace evenhand::competency {
namespace {

Result<void> check(const LearningCurve& curve) {
  if (!(0.0 < curve.not_acceptable && curve.not_acceptable < curve.competent && curve.competent < 1.0))
    return fail(Errc::invalid,
                "learning curve: the shares must be 0 < not acceptable < competent < 1, not {} and {}",
                curve.not_acceptable, curve.competent);
  if (!(curve.limit > 0.0) || !std::isfinite(curve.limit))
    return fail(Errc::invalid, "learning curve: the limit must be above 0, not {}", curve.limit);
  return {};
}

Result<void> check(const LearningCurveDesign& design) {
  if (design.cases < 1 || design.raters < 1)
    return fail(Errc::invalid, "learning curve: a limit needs at least one case and one simulated rater");
  if (!(design.false_signal > 0.0 && design.false_signal < 1.0))
    return fail(Errc::invalid, "learning curve: the share of false signals must lie between 0 and 1, not {}",
                design.false_signal);
  return {};
}

Result<std::vector<std::vector<CaseCount>>> simulated(const LearningCurveDesign& design, double share,
                                                      std::uint64_t seed) {
  auto raters =
      simulated_counts(design.scenario, share, design.cases, design.items_per_case, design.raters, seed);
  if (!raters)
    return fail(Errc::undefined,
                "learning curve: the scenario cannot have a true share of {} with {} items a case", share,
                design.items_per_case);
  return std::move(*raters);
}

/// Largest sum of each rater.
Result<std::vector<double>> highest(const std::vector<std::vector<CaseCount>>& raters,
                                    const LearningCurve& curve) {
  std::vector<double> out;
  for (const auto& cases : raters) {
    const auto path = learning_curve(cases, curve);
    if (!path) return tl::unexpected(path.error());
    out.push_back(std::ranges::max(path->sums));
  }
  return out;
}

}  // namespace

Result<LearningCurvePath> learning_curve(std::span<const CaseCount> cases, const LearningCurve& curve) {
  if (auto checked = check(curve); !checked) return tl::unexpected(checked.error());
  const double right = std::log(curve.competent / curve.not_acceptable);
  const double miss = std::log((1.0 - curve.competent) / (1.0 - curve.not_acceptable));
  LearningCurvePath path;
  double sum = 0.0;
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const CaseCount& each = cases[i];
    if (each.right > each.scores)
      return fail(Errc::invalid, "learning curve: a case with {} right of {} scores", each.right,
                  each.scores);
    sum = std::max(0.0, sum + static_cast<double>(each.right) * right +
                            static_cast<double>(each.scores - each.right) * miss);
    path.sums.push_back(sum);
    if (sum > curve.limit && !path.first_signal) path.first_signal = i;
  }
  return path;
}

Result<LearningCurveLimit> learning_curve_limit(double competent, double not_acceptable,
                                                const LearningCurveDesign& design) {
  LearningCurveLimit result{.curve = {.competent = competent, .not_acceptable = not_acceptable},
                            .raters = design.raters};
  if (auto checked = check(result.curve); !checked) return tl::unexpected(checked.error());
  if (auto checked = check(design); !checked) return tl::unexpected(checked.error());
  const auto below = simulated(design, not_acceptable, design.seed);
  if (!below) return tl::unexpected(below.error());
  auto sums = highest(*below, result.curve);
  if (!sums) return tl::unexpected(sums.error());
  std::ranges::sort(*sums, std::greater<>());
  const double n = static_cast<double>(design.raters);
  // The signal lies above the limit, so the k highest raters, k = share n, stay above the (k + 1)st.
  const auto allowed = static_cast<std::size_t>(design.false_signal * n);
  result.curve.limit = std::max((*sums)[std::min(allowed, sums->size() - 1)], 1e-9);

  const auto others = simulated(design, not_acceptable, design.seed + 1);
  const auto able = simulated(design, competent, design.seed + 2);
  if (!others) return tl::unexpected(others.error());
  if (!able) return tl::unexpected(able.error());
  for (const auto& cases : *others)
    if (learning_curve(cases, result.curve)->first_signal) result.false_signal += 1.0 / n;
  double signals = 0.0;
  for (const auto& cases : *able) {
    const auto path = learning_curve(cases, result.curve);
    if (!path->first_signal) continue;
    signals += 1.0;
    result.mean_cases += static_cast<double>(*path->first_signal + 1);
  }
  result.signal = signals / n;
  if (signals > 0.0) result.mean_cases /= signals;
  return result;
}

}  // namespace evenhand::competency
