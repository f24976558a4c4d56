#include "competency/operating.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <string>

#include "base/random.hpp"
#include "competency/decision.hpp"
#include "competency/operating_model.hpp"

namespace evenhand::competency {
namespace {

using simulation::Draws;
using simulation::Model;

std::vector<CaseCount> counts_of(std::span<const ScoredCase> cases) {
  std::vector<CaseCount> counts;
  for (const ScoredCase& each : cases) {
    const auto right = std::ranges::count_if(each.items, &ScoredItem::agrees);
    counts.push_back({static_cast<std::size_t>(right), each.items.size()});
  }
  return counts;
}

struct Outcome {
  Verdict verdict;
  std::size_t cases;  ///< scored until then
};

/// decide_on  from the cases of a rater to an Outcome, or nothing
template <class DecideOn>
std::optional<Operating> operate(const Scenario& scenario, double true_share, std::size_t cases,
                                 std::size_t items_per_case, std::size_t raters, std::uint64_t seed,
                                 DecideOn&& decide_on) {
  if (items_per_case < 1 || scenario.items % items_per_case != 0) return std::nullopt;
  Model model(scenario, scenario.items);
  if (!model.solve(true_share)) return std::nullopt;
  Draws draws(model, scenario, cases, items_per_case);
  Operating result{.correlation = model.correlation(), .raters = raters};
  for (std::size_t r = 0; r < raters; ++r) {
    const std::optional<Outcome> outcome = decide_on(draws.next(base::Random(seed, r)));
    if (!outcome) return std::nullopt;
    if (outcome->verdict == Verdict::ready) result.ready += 1.0;
    if (outcome->verdict == Verdict::not_yet) result.not_yet += 1.0;
    if (outcome->verdict == Verdict::not_shown) result.not_shown += 1.0;
    result.mean_cases += static_cast<double>(outcome->cases);
  }
  const double n = static_cast<double>(raters);
  for (double* each : {&result.ready, &result.not_yet, &result.not_shown, &result.mean_cases}) *each /= n;
  return result;
}

}  // namespace

double Operating::error_of(double share) const {
  return std::sqrt(share * (1.0 - share) / static_cast<double>(raters));
}

std::optional<Operating> operating_characteristics(const Standard& standard, const Scenario& scenario,
                                                   double true_share, std::size_t raters, std::uint64_t seed,
                                                   std::size_t attempts) {
  if (standard.looks.empty()) return std::nullopt;
  const auto by_standard = [&](std::span<const ScoredCase> cases) -> std::optional<Outcome> {
    const auto decision = decide(cases, standard, {.attempts = attempts});
    if (!decision) return std::nullopt;
    return Outcome{decision->verdict, decision->looks.back().limit.cases};
  };
  return operate(scenario, true_share, standard.looks.back(), standard.items_per_case, raters, seed,
                 by_standard);
}

std::optional<Operating> operating_characteristics(const SequentialPlan& plan, std::size_t items_per_case,
                                                   const Scenario& scenario, double true_share,
                                                   std::size_t raters, std::uint64_t seed) {
  const auto in_sequence = [&](std::span<const ScoredCase> cases) -> std::optional<Outcome> {
    const auto test = sequential_test(counts_of(cases), plan);
    if (!test || test->steps.empty()) return std::nullopt;
    return Outcome{test->verdict, test->steps.back().cases};
  };
  return operate(scenario, true_share, plan.most_cases, items_per_case, raters, seed, in_sequence);
}

std::optional<std::vector<std::vector<CaseCount>>> simulated_counts(const Scenario& scenario,
                                                                    double true_share, std::size_t cases,
                                                                    std::size_t items_per_case,
                                                                    std::size_t raters, std::uint64_t seed) {
  if (items_per_case < 1 || scenario.items % items_per_case != 0) return std::nullopt;
  Model model(scenario, scenario.items);
  if (!model.solve(true_share)) return std::nullopt;
  Draws draws(model, scenario, cases, items_per_case);
  std::vector<std::vector<CaseCount>> out;
  for (std::size_t r = 0; r < raters; ++r) out.push_back(counts_of(draws.next(base::Random(seed, r))));
  return out;
}

}  // namespace evenhand::competency
