#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <vector>

#include "agreement/alpha.hpp"
#include "agreement/concordance.hpp"
#include "agreement/gwet.hpp"
#include "agreement/limits_of_agreement.hpp"
#include "agreement/measure.hpp"
#include "coverage/designs.hpp"
#include "coverage/draws.hpp"
#include "coverage/these_raters.hpp"
#include "stats/distributions.hpp"
#include "stats/mean_squares.hpp"
#include "stats/satterthwaite.hpp"

// Limits that could stand in where the program's own fail, measured in the same way. The program does not
// print them.

namespace evenhand::coverage {
namespace {

using agreement::AgreementWeights;
using agreement::Value;
using agreement::Weights;
using stats::TwoWayMeanSquares;

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

// --- mean squares whose degrees of freedom are told from the cases

struct Table {
  std::size_t cases, raters;
  std::vector<double> scores;  ///< row-major

  TwoWayMeanSquares squares() const { return *stats::two_way_mean_squares(scores, cases, raters); }
  TwoWayMeanSquares without(std::size_t case_) const {
    std::vector<double> others;
    others.reserve(scores.size() - raters);
    for (std::size_t i = 0; i < scores.size(); ++i)
      if (i / raters != case_) others.push_back(scores[i]);
    return *stats::two_way_mean_squares(others, cases - 1, raters);
  }
};

Table draw(const Population& p, std::size_t cases, std::size_t raters, base::Random& random) {
  std::vector<double> severity(raters);
  for (double& s : severity) s = p.draw_rater(random);
  Table table{cases, raters, {}};
  for (std::size_t i = 0; i < cases; ++i) {
    const double of_case = random.normal();
    for (std::size_t j = 0; j < raters; ++j)
      table.scores.push_back(p.score(of_case + severity[j] + p.draw_rest(random)));
  }
  return table;
}

/// The degrees of freedom that a mean square of normal scores would have if it were as uncertain as leaving
/// out each case shows, 2 MS^2 / variance; never more than the design gives.
double degrees(double square, const std::vector<double>& without, double of_design) {
  return std::min(of_design, 2.0 * square * square / jackknife_variance(without));
}

void add_none(std::vector<Outcome>& outcomes, std::initializer_list<std::string_view> names) {
  for (const auto name : names) outcomes.push_back({name, 0.0, no_limits, no_limits});
}

std::vector<Outcome> by_case_degrees(const Table& table, const Components& c) {
  std::vector<Outcome> outcomes;
  const auto all = table.squares();
  std::vector<double> rows, residuals;
  for (std::size_t i = 0; i < table.cases; ++i) {
    const auto one = table.without(i);
    rows.push_back(one.row);
    residuals.push_back(one.residual);
  }
  if (!(all.residual > 0.0) || !(all.row > 0.0) || !(jackknife_variance(residuals) > 0.0)) {
    add_none(outcomes, {"ICC agreement", "ICC consistency", "SEM agreement", "SEM consistency"});
    return outcomes;
  }
  const auto n = static_cast<double>(table.cases), k = static_cast<double>(table.raters);
  const double row = degrees(all.row, rows, n - 1.0),
               residual = degrees(all.residual, residuals, (n - 1.0) * (k - 1.0)), rater = k - 1.0;

  const std::array<stats::RatioSquare, 3> share{
      {{1.0 / k, 1.0 / k, all.row, row},
       {0.0, 1.0 / n, all.column, rater},
       {-1.0 / k, -1.0 / k + 1.0 - 1.0 / n, all.residual, residual}}};
  const auto icc = *stats::share_limits(share, level);
  outcomes.push_back(limits("ICC agreement", c.case_ / c.total(), icc.lower, icc.upper));

  const double f = all.row / all.residual, f_low = f / *stats::f_quantile(upper_tail, row, residual),
               f_high = f * *stats::f_quantile(upper_tail, residual, row);
  const auto consistency = [&](double ratio) { return (ratio - 1.0) / (ratio + k - 1.0); };
  outcomes.push_back(
      limits("ICC consistency", c.case_ / (c.case_ + c.residual), consistency(f_low), consistency(f_high)));

  const std::array<stats::WeightedSquare, 2> error{
      {{1.0 / n, all.column, rater}, {1.0 - 1.0 / n, all.residual, residual}}};
  const auto sem = *stats::modified_large_sample(error, level);
  outcomes.push_back(limits("SEM agreement", std::sqrt(c.rater + c.residual),
                            std::sqrt(std::max(0.0, sem.lower)), std::sqrt(sem.upper)));
  const auto alone = *stats::chi_square_limits(all.residual, residual, level);
  outcomes.push_back(
      limits("SEM consistency", std::sqrt(c.residual), std::sqrt(alone.lower), std::sqrt(alone.upper)));
  return outcomes;
}

// --- jackknife by case, t limits

enum class Line { as_it_is, fisher_z };

/// without  the statistic without each case; no limits where one of them has no value
Outcome jackknifed(std::string_view name, double truth, const Value& all, const std::vector<Value>& without,
                   Line line) {
  const auto turned = [&](double value) {
    constexpr double below_one = 1.0 - 1e-9;  // z of 1 is infinite
    return line == Line::as_it_is ? value : std::atanh(std::clamp(value, -below_one, below_one));
  };
  const auto back = [&](double value) { return line == Line::as_it_is ? value : std::tanh(value); };
  if (!all || without.empty() || !std::ranges::all_of(without, &Value::defined))
    return {name, truth, no_limits, no_limits};
  std::vector<double> values;
  for (const Value& value : without) values.push_back(turned(*value));
  const auto n = static_cast<double>(values.size());
  const double half = *stats::t_quantile(upper_tail, n - 1.0) * std::sqrt(jackknife_variance(values));
  return limits(name, truth, back(turned(*all) - half), back(turned(*all) + half));
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
  const auto add = [&](std::string_view name, double truth, const Statistic& statistic, Line line) {
    std::vector<Value> without;
    for (std::size_t i = 0; i < cases; ++i) without.push_back(statistic(scores.without(i)));
    return jackknifed(name, truth, statistic(scores), without, line);
  };
  return {
      add("kappa", kappa_of(joint, none), kappa(none), Line::fisher_z),
      add("kappa, quadratic", kappa_of(joint, quadratic), kappa(quadratic), Line::fisher_z),
      add("pair AC1", pair.gwet(none), gwet(none), Line::fisher_z),
      add("pair AC2, quadratic", pair.gwet(quadratic), gwet(quadratic), Line::fisher_z),
      add(
          "concordance", concordance_of(joint),
          [](const Scores& s) { return agreement::concordance(s.rater, s.key).estimate; }, Line::fisher_z),
      add(
          "limits of agreement, upper", differences.mean + 1.96 * std::sqrt(differences.variance),
          [](const Scores& s) { return agreement::limits_of_agreement(s.rater, s.key).upper.estimate; },
          Line::as_it_is)};
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
                      agreement::alpha_without_each(units, metric), Line::fisher_z);
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
  return {jackknifed("mean item kappa", kappa_of(truth, weights(Weights::none)), all.none.estimate, none,
                     Line::fisher_z),
          jackknifed("mean item kappa, quadratic", kappa_of(truth, weights(Weights::quadratic)),
                     all.quadratic.estimate, quadratic, Line::fisher_z)};
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
