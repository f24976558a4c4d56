#include "competency/operating.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
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

std::vector<ScoredCase> simulate(const Model& model, const Scenario& scenario, const Standard& standard,
                                 base::Random& random) {
  std::vector<ScoredCase> cases(standard.looks.back());
  for (std::size_t c = 0; c < cases.size(); ++c) {
    cases[c].id = CaseId(std::to_string(c));
    const bool able = random.chance(scenario.able_share);
    const double effect = random.normal();
    for (std::size_t i = 0; i < standard.items_per_case; ++i) {
      const std::size_t item = 2 * i + c % 2;
      const double right = able ? scenario.able_right : model.chance(item, effect);
      cases[c].items.push_back({.item = ItemId(std::to_string(item)), .agrees = random.chance(right)});
    }
  }
  return cases;
}

}  // namespace

double Operating::error_of(double share) const {
  return std::sqrt(share * (1.0 - share) / static_cast<double>(raters));
}

std::optional<Operating> operating_characteristics(const Standard& standard, const Scenario& scenario,
                                                   double true_share, std::size_t raters, std::uint64_t seed,
                                                   std::size_t attempts) {
  Model model(scenario, 2 * standard.items_per_case);
  if (!model.solve(true_share)) return std::nullopt;
  Operating result{.correlation = model.correlation(), .raters = raters};
  for (std::size_t r = 0; r < raters; ++r) {
    base::Random random(seed, r);
    const auto decision =
        decide(simulate(model, scenario, standard, random), standard, {.attempts = attempts});
    if (!decision) return std::nullopt;
    if (decision->verdict == Verdict::ready) result.ready += 1.0;
    if (decision->verdict == Verdict::not_yet) result.not_yet += 1.0;
    if (decision->verdict == Verdict::not_shown) result.not_shown += 1.0;
    result.mean_cases += static_cast<double>(decision->looks.back().limit.cases);
  }
  const double n = static_cast<double>(raters);
  for (double* each : {&result.ready, &result.not_yet, &result.not_shown, &result.mean_cases}) *each /= n;
  return result;
}

}  // namespace evenhand::competency
