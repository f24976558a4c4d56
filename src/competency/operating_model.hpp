#pragma once

#include <cmath>
#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "base/random.hpp"
#include "competency/decision.hpp"
#include "competency/operating.hpp"
#include "stats/distributions.hpp"

// How right and wrong scores come about in the simulation of a standard. Private to the module.
namespace evenhand::competency::simulation {

inline double expit(double x) { return 1.0 / (1.0 + std::exp(-x)); }

/// n values that stand for a standard normal: quantiles at the middles of n equal slices.
inline std::vector<double> normal_scores(std::size_t n) {
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

inline double Model::correlation() const {
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
    each_score(random, [&](std::size_t c, std::size_t place, bool agrees) {
      cases_[c].items[place].agrees = agrees;
    });
    return cases_;
  }

  /// The same scores, one after the other: `take(case, place of the item in the case, agrees)`.
  template <class Take>
  void each_score(base::Random& random, Take&& take) const {
    auto item = shown_.begin();
    for (std::size_t c = 0; c < cases_.size(); ++c) {
      const bool able = random.chance(scenario_.able_share);
      const double effect = random.normal();
      // Without item effects every item of a case is as hard as the first.
      const double alike = scenario_.item_sd == 0.0 ? model_.chance(0, effect) : 0.0;
      for (std::size_t place = 0; place < cases_[c].items.size(); ++place, ++item) {
        const double chance = scenario_.item_sd == 0.0 ? alike : model_.chance(*item, effect);
        take(c, place, random.chance(able ? scenario_.able_right : chance));
      }
    }
  }

  /// Places of the instrument's items, case after case.
  std::span<const std::size_t> shown() const { return shown_; }

 private:
  const Model& model_;
  const Scenario& scenario_;
  std::vector<ScoredCase> cases_;
  std::vector<std::size_t> shown_;
};

}  // namespace evenhand::competency::simulation
