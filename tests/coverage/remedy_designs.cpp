#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include "agreement/alpha.hpp"
#include "agreement/gwet.hpp"
#include "agreement/limits_by_case.hpp"
#include "agreement/measure.hpp"
#include "coverage/designs.hpp"
#include "coverage/draws.hpp"
#include "coverage/these_raters.hpp"
#include "stats/distributions.hpp"

// Limits that could stand in where the textbook's fail, measured in the same way. The program offers those of
// ICC, SEM, concordance and limits of agreement (agreement/limits_by_case.hpp) and prints those of the mean
// item kappa; it does not print the others.

namespace evenhand::coverage {
namespace {

using agreement::AgreementWeights;
using agreement::Value;
using agreement::Weights;

constexpr double level = 0.95, upper_tail = 0.975;
constexpr agreement::Reason no_limits{"a case cannot be left out"};

Outcome limits(std::string_view statistic, double truth, double lower, double upper) {
  return {statistic, truth, lower, upper};
}

/// (n - 1)/n sum (v_i - mean)^2: Tukey's variance of a statistic from its values without each case.
double jackknife_variance(const std::vector<double>& without) {
  const auto n = static_cast<double>(without.size());
  double mean = 0.0, squares = 0.0;
  for (const double v : without) mean += v / n;
  for (const double v : without) squares += (v - mean) * (v - mean);
  return squares * (n - 1.0) / n;
}

// --- ICC and SEM near the ends of a scale, as the program offers them

Outcome outcome(std::string_view statistic, double truth, const agreement::Estimate& e) {
  return {statistic, truth, e.lower, e.upper};
}

agreement::RatingTable draw(const Population& p, std::size_t cases, std::size_t raters,
                            base::Random& random) {
  std::vector<double> severity(raters);
  for (double& s : severity) s = p.draw_rater(random);
  agreement::RatingTable table(cases, raters);
  for (std::size_t i = 0; i < cases; ++i) {
    const double of_case = random.normal();
    for (std::size_t j = 0; j < raters; ++j)
      (void)table.set(i, j, p.score(of_case + severity[j] + p.draw_rest(random)));
  }
  return table;
}

std::vector<Outcome> by_case_degrees(const agreement::RatingTable& table, const Components& c) {
  const auto limits = agreement::variance_limits_by_case(table, level);
  return {outcome("ICC agreement", c.case_ / c.total(), limits.icc_agreement),
          outcome("ICC consistency", c.case_ / (c.case_ + c.residual), limits.icc_consistency),
          outcome("SEM agreement", std::sqrt(c.rater + c.residual), limits.sem_agreement),
          outcome("SEM consistency", std::sqrt(c.residual), limits.sem_consistency)};
}

// --- jackknife by case, t limits

/// Of Fisher's z.
/// without  the statistic without each case; no limits where one of them has no value
Outcome jackknifed(std::string_view name, double truth, const Value& all, const std::vector<Value>& without) {
  const auto z = [](double value) {
    constexpr double below_one = 1.0 - 1e-9;  // z of 1 is infinite
    return std::atanh(std::clamp(value, -below_one, below_one));
  };
  if (!all || without.empty() || !std::ranges::all_of(without, &Value::defined))
    return {name, truth, no_limits, no_limits};
  std::vector<double> values;
  for (const Value& value : without) values.push_back(z(*value));
  const auto n = static_cast<double>(values.size());
  const double half = *stats::t_quantile(upper_tail, n - 1.0) * std::sqrt(jackknife_variance(values));
  return limits(name, truth, std::tanh(z(*all) - half), std::tanh(z(*all) + half));
}

// --- pairs

struct Scores {
  std::vector<double> rater, key;

  Scores without(std::size_t case_) const {
    Scores others = *this;
    others.rater.erase(others.rater.begin() + static_cast<std::ptrdiff_t>(case_));
    others.key.erase(others.key.begin() + static_cast<std::ptrdiff_t>(case_));
    return others;
  }
};

using Statistic = std::function<Value(const Scores&)>;

agreement::CrossTable cross(const Scores& scores) {
  agreement::CrossTable table(n_levels);
  for (std::size_t i = 0; i < scores.rater.size(); ++i)
    table.add(static_cast<std::size_t>(scores.key[i]), static_cast<std::size_t>(scores.rater[i]));
  return table;
}

std::vector<Outcome> jackknifed_pair(const Population& p, std::size_t cases, base::Random& random) {
  const double severity = p.draw_rater(random);
  Scores scores;
  for (std::size_t i = 0; i < cases; ++i) {
    const double of_case = random.normal();
    scores.key.push_back(p.score(of_case));
    scores.rater.push_back(p.score(of_case + severity + p.draw_rest(random)));
  }
  const Joint joint = key_and_rater(p, severity);
  const TheseRaters pair(joint);
  const auto& none = weights(Weights::none);
  const auto& quadratic = weights(Weights::quadratic);
  const auto kappa = [](const AgreementWeights& w) -> Statistic {
    return [&w](const Scores& s) { return agreement::kappa_estimate(cross(s), w); };
  };
  const auto gwet = [](const AgreementWeights& w) -> Statistic {
    return [&w](const Scores& s) { return agreement::gwet(cross(s), w).coefficient.estimate; };
  };
  const auto differences = differences_of(joint);
  const auto offered = agreement::pair_limits_by_case(scores.rater, scores.key, level);
  const auto add = [&](std::string_view name, double truth, const Statistic& statistic) {
    std::vector<Value> without;
    for (std::size_t i = 0; i < cases; ++i) without.push_back(statistic(scores.without(i)));
    return jackknifed(name, truth, statistic(scores), without);
  };
  return {add("kappa", kappa_of(joint, none), kappa(none)),
          add("kappa, quadratic", kappa_of(joint, quadratic), kappa(quadratic)),
          add("pair AC1", pair.gwet(none), gwet(none)),
          add("pair AC2, quadratic", pair.gwet(quadratic), gwet(quadratic)),
          outcome("concordance", concordance_of(joint), offered.concordance),
          outcome("limits of agreement, upper", differences.mean + 1.96 * std::sqrt(differences.variance),
                  offered.upper)};
}

// --- several raters

std::vector<Outcome> jackknifed_alpha(const Population& p, std::size_t cases, std::size_t raters,
                                      base::Random& random) {
  const auto severities = draw_severities(p, raters, random);
  const auto columns = draw_columns(p, cases, severities, random);
  const TheseRaters truth(p, severities);
  const agreement::AlphaUnits units(agreement::CategoryCounts::of(agreement::placings(columns)),
                                    columns.scale.values);
  const auto add = [&](std::string_view name, double tends_to, agreement::AlphaMetric metric) {
    return jackknifed(name, tends_to, agreement::alpha(units, metric),
                      agreement::alpha_without_each(units, metric));
  };
  using agreement::AlphaMetric;
  return {add("alpha, nominal", truth.alpha_nominal(), AlphaMetric::nominal),
          add("alpha, ordinal", truth.alpha_ordinal(), AlphaMetric::ordinal),
          add("alpha, interval", truth.alpha_interval(), AlphaMetric::interval)};
}

std::vector<Outcome> jackknifed_across(const Population& p, std::size_t cases, std::size_t raters,
                                       base::Random& random) {
  const auto severities = draw_severities(p, raters, random);
  auto items = draw_items(p, cases, severities, random);
  agreement::AgreementOptions options{.only = {agreement::Statistic::across_items}};
  options.resamples = 0;
  const auto kappas = [&] { return agreement::across_items(items, raters, options).mean_item_kappa; };
  const auto all = kappas();
  std::vector<Value> none, quadratic;
  for (std::size_t i = 0; i < cases; ++i) {
    const auto kept = items;
    for (auto& item : items)
      for (std::size_t rater = 0; rater <= raters; ++rater) item.places[rater * cases + i] = -1;
    const auto without = kappas();
    none.push_back(without.none.estimate);
    quadratic.push_back(without.quadratic.estimate);
    items = kept;
  }
  const Joint truth = key_and_raters(p, severities);
  return {jackknifed("mean item kappa", kappa_of(truth, weights(Weights::none)), all.none.estimate, none),
          jackknifed("mean item kappa, quadratic", kappa_of(truth, weights(Weights::quadratic)),
                     all.quadratic.estimate, quadratic)};
}

}  // namespace

Design jackknifed_alpha_design(const Population& p, std::string_view severity, std::size_t cases,
                               std::size_t raters) {
  return {{"remedy_alpha", p.name, std::string(severity), cases, raters},
          [=](base::Random& random) { return jackknifed_alpha(p, cases, raters, random); }};
}

Design jackknifed_across_design(const Population& p, std::string_view severity, std::size_t cases,
                                std::size_t raters) {
  return {{"remedy_across", p.name, std::string(severity), cases, raters},
          [=](base::Random& random) { return jackknifed_across(p, cases, raters, random); }};
}

Design case_degrees_design(const Population& p, std::string_view severity, std::size_t cases,
                           std::size_t raters) {
  const Components truth = components(p);
  return {{"remedy_components", p.name, std::string(severity), cases, raters},
          [=](base::Random& random) { return by_case_degrees(draw(p, cases, raters, random), truth); }};
}

Design jackknifed_pair_design(const Population& p, std::string_view severity, std::size_t cases) {
  return {{"remedy_pair", p.name, std::string(severity), cases, 1},
          [=](base::Random& random) { return jackknifed_pair(p, cases, random); }};
}

}  // namespace evenhand::coverage
