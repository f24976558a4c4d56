#include "competency/operating.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <string>

#include "base/random.hpp"
#include "competency/decision.hpp"
#include "stats/distributions.hpp"

namespace evenhand::competency {
namespace {

double expit(double x) { return 1.0 / (1.0 + std::exp(-x)); }

/// n values that stand for a standard normal: quantiles at the middles of n equal slices.
std::vector<double> normal_scores(std::size_t n) {
  std::vector<double> scores(n);
  for (std::size_t i = 0; i < n; ++i)
    scores[i] = stats::normal_quantile((static_cast<double>(i) + 0.5) / static_cast<double>(n)).value_or(0.0);
  return scores;
}

/// Chances of a right score, for the cases that are not able ones.
class Model {
 public:
  Model(const Scenario& scenario, std::size_t items) : scenario_(scenario), items_(normal_scores(items)) {
    for (double& item : items_) item *= scenario.item_sd;
  }

  /// Solves the intercept; false when the mean over the other cases would have to lie outside (0, 1).
  bool solve(double true_share) {
    const double others =
        (true_share - scenario_.able_share * scenario_.able_right) / (1.0 - scenario_.able_share);
    if (!(others > 0.0 && others < 1.0)) return false;
    double low = -20.0;
    double high = 20.0;
    for (int step = 0; step < 60; ++step) {
      intercept_ = (low + high) / 2.0;
      (mean() < others ? low : high) = intercept_;
    }
    return true;
  }

  double chance(std::size_t item, double case_effect) const {
    return expit(intercept_ + items_[item] + scenario_.case_sd * case_effect);
  }

  /// Correlation of two scores of one case about their item means; able cases included.
  double correlation() const;

  std::size_t items() const { return items_.size(); }

 private:
  double mean() const {
    double sum = 0.0;
    for (const double effect : slices_)
      for (std::size_t i = 0; i < items_.size(); ++i) sum += chance(i, effect);
    return sum / static_cast<double>(slices_.size() * items_.size());
  }

  Scenario scenario_;
  std::vector<double> items_;
  std::vector<double> slices_ = normal_scores(200);
  double intercept_ = 0.0;
};

double Model::correlation() const {
  const double able = scenario_.able_share;
  const double slices = static_cast<double>(slices_.size());
  std::vector<double> item_mean(items_.size(), able * scenario_.able_right);
  for (std::size_t i = 0; i < items_.size(); ++i)
    for (const double effect : slices_) item_mean[i] += (1.0 - able) * chance(i, effect) / slices;
  double variance = 0.0;
  for (const double p : item_mean) variance += p * (1.0 - p);
  const double n = static_cast<double>(items_.size());
  variance /= n;
  // covariance of two different items, averaged over pairs, given the case
  const auto pairs = [&](auto&& deviation) {
    double sum = 0.0;
    double squares = 0.0;
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const double d = deviation(i);
      sum += d;
      squares += d * d;
    }
    return (sum * sum - squares) / (n * (n - 1.0));
  };
  double covariance = able * pairs([&](std::size_t i) { return scenario_.able_right - item_mean[i]; });
  for (const double effect : slices_)
    covariance +=
        (1.0 - able) / slices * pairs([&](std::size_t i) { return chance(i, effect) - item_mean[i]; });
  return covariance / variance;
}

/// The sets of one rater after the other; the cases and their items stay, the scores are drawn anew.
class Draws {
 public:
  Draws(const Model& model, const Scenario& scenario, std::size_t cases, std::size_t items_per_case)
      : model_(model), scenario_(scenario), cases_(cases) {
    const std::size_t stride = scenario.items / items_per_case;
    for (std::size_t c = 0; c < cases; ++c) {
      cases_[c].id = CaseId(std::to_string(c));
      for (std::size_t i = 0; i < items_per_case; ++i) {
        shown_.push_back(stride * i + c % stride);
        cases_[c].items.push_back({.item = ItemId(std::to_string(shown_.back()))});
      }
    }
  }

  std::span<const ScoredCase> next(base::Random random) {
    auto item = shown_.begin();
    for (ScoredCase& each : cases_) {
      const bool able = random.chance(scenario_.able_share);
      const double effect = random.normal();
      for (ScoredItem& score : each.items) {
        score.agrees = random.chance(able ? scenario_.able_right : model_.chance(*item, effect));
        ++item;
      }
    }
    return cases_;
  }

 private:
  const Model& model_;
  const Scenario& scenario_;
  std::vector<ScoredCase> cases_;
  std::vector<std::size_t> shown_;
};

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
