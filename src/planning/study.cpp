#include "planning/study.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <vector>

#include "base/parallel.hpp"

namespace evenhand::planning {
namespace {

constexpr double width_without_interval = 1.0;

struct Outcome {
  double width = width_without_interval;
  bool interval = false;
  bool meets = false;
  bool covers = false;
  std::optional<double> estimate;
};

Outcome outcome_of(const agreement::Estimate& estimate, double truth, const Goal& goal) {
  Outcome outcome;
  if (estimate.estimate) outcome.estimate = *estimate.estimate;
  if (!estimate.lower || !estimate.upper || !(*estimate.upper > *estimate.lower)) return outcome;
  outcome.width = *estimate.upper - *estimate.lower;
  outcome.interval = true;
  outcome.covers = *estimate.lower <= truth && truth <= *estimate.upper;
  outcome.meets =
      goal.kind == GoalKind::assured_lower ? *estimate.lower >= goal.bound : outcome.width <= goal.bound;
  return outcome;
}

double mean(const std::vector<double>& values) {
  if (values.empty()) return 0.0;
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

/// Between the values that leave (1 - inside) / 2 of them out at either end.
double spread(std::vector<double> values, double inside) {
  if (values.empty()) return 0.0;
  std::ranges::sort(values);
  const auto outside = static_cast<std::size_t>((1.0 - inside) / 2.0 * static_cast<double>(values.size()));
  return values[values.size() - 1 - outside] - values[outside];
}

}  // namespace

Achieved repeat(const Study& study, double truth, const Goal& goal, const Simulation& simulation) {
  std::vector<Outcome> outcomes(simulation.replicates);
  base::in_parallel(outcomes.size(), simulation.threads,
                    [&](std::size_t i) { outcomes[i] = outcome_of(study(i), truth, goal); });
  // Summed in order, so that the digits do not depend on who finished first.
  const auto n = static_cast<double>(outcomes.size());
  Achieved achieved;
  double intervals = 0.0, covering = 0.0;
  std::vector<double> estimates;
  for (const Outcome& one : outcomes) {
    achieved.mean_width += one.width / n;
    achieved.meeting += one.meets ? 1.0 / n : 0.0;
    achieved.without_interval += one.interval ? 0.0 : 1.0 / n;
    intervals += one.interval ? 1.0 : 0.0;
    covering += one.covers ? 1.0 : 0.0;
    if (one.estimate) estimates.push_back(*one.estimate);
  }
  if (intervals > 0.0) achieved.coverage = covering / intervals;
  achieved.mean_estimate = mean(estimates);
  achieved.spread = spread(estimates, simulation.confidence);
  double squares = 0.0;
  for (const Outcome& one : outcomes) squares += std::pow(one.width - achieved.mean_width, 2);
  achieved.width_error = n > 1.0 ? std::sqrt(squares / (n - 1.0) / n) : 0.0;
  achieved.meeting_error = std::sqrt(std::max(0.0, achieved.meeting * (1.0 - achieved.meeting)) / n);
  return achieved;
}

bool meets(const Achieved& achieved, const Goal& goal, double errors) {
  if (goal.kind == GoalKind::mean_width)
    return achieved.mean_width - errors * achieved.width_error <= goal.bound;
  return achieved.meeting + errors * achieved.meeting_error >= goal.assurance;
}

Needed fewest(std::size_t first, std::size_t limit, const Goal& goal,
              const std::function<Achieved(std::size_t)>& at) {
  std::map<std::size_t, Achieved> known;
  const auto look = [&](std::size_t size) -> const Achieved& {
    const auto found = known.find(size);
    return found != known.end() ? found->second : known.emplace(size, at(size)).first->second;
  };
  const auto search = [&](double errors) -> std::optional<std::size_t> {
    const auto enough = [&](std::size_t size) { return meets(look(size), goal, errors); };
    std::size_t low = first - 1, high = first;
    while (high < limit && !enough(high)) low = high, high *= 2;
    high = std::min(high, limit);
    if (!enough(high)) return std::nullopt;
    while (high - low > 1) {
      const std::size_t middle = low + (high - low) / 2;
      (enough(middle) ? high : low) = middle;
    }
    return high;
  };
  Needed needed;
  needed.number = search(0.0);
  needed.at_least = search(2.0);
  needed.at_most = search(-2.0);
  needed.limit = limit;
  needed.achieved = look(needed.number.value_or(limit));
  return needed;
}

}  // namespace evenhand::planning
