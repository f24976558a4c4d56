#include "agreement/icc_reml.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <vector>

#include "stats/mean_squares.hpp"
#include "stats/satterthwaite.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason no_limits{"the distribution of the mean squares gave no limits"};
constexpr Reason no_error{"the scores leave no error: limits are not defined"};
constexpr std::string_view disconnected =
    "cases and raters fall into groups that share no rating: how groups compare rests on the assumption "
    "that their cases and raters are alike";
constexpr std::string_view not_settled = "the fit did not settle: take the values as approximate";

struct Ratings {
  std::vector<double> values;
  std::vector<std::uint32_t> case_, rater;
  std::vector<double> of_case, of_rater;  ///< numbers of ratings
};

Ratings ratings_of(const RatingTable& table) {
  Ratings r{{}, {}, {}, std::vector<double>(table.cases()), std::vector<double>(table.raters())};
  for (std::size_t i = 0; i < table.cases(); ++i)
    for (std::size_t j = 0; j < table.raters(); ++j)
      if (const auto cell = table.at(i, j)) {
        r.values.push_back(*cell);
        r.case_.push_back(static_cast<std::uint32_t>(i));
        r.rater.push_back(static_cast<std::uint32_t>(j));
        r.of_case[i] += 1.0;
        r.of_rater[j] += 1.0;
      }
  std::erase(r.of_case, 0.0);
  std::erase(r.of_rater, 0.0);
  return r;
}

double harmonic_mean(const std::vector<double>& counts) {
  double sum = 0.0;
  for (const double count : counts) sum += 1.0 / count;
  return static_cast<double>(counts.size()) / sum;
}

/// Mean squares of cases, raters and residual, or what stands for them.
struct Squares {
  double k, n;  // ratings a case, a rater
  std::array<double, 3> square, df;
};

Squares squares_of(const RatingTable& table, const Ratings& ratings, const stats::RemlFit& fit) {
  Squares s{harmonic_mean(ratings.of_case), harmonic_mean(ratings.of_rater), {}, {}};
  const double residual = fit.variance[2];
  s.square = {s.k * fit.variance[0] + residual, s.n * fit.variance[1] + residual, residual};
  const auto cases = static_cast<double>(ratings.of_case.size()),
             raters = static_cast<double>(ratings.of_rater.size());
  s.df = {cases - 1.0, raters - 1.0, static_cast<double>(ratings.values.size()) - cases - raters + 1.0};
  if (table.complete())
    if (const auto exact = stats::two_way_mean_squares(table.values(), table.cases(), table.raters()))
      s.square = {exact->row, exact->column, exact->residual};
  return s;
}

// Weights of the three mean squares in a component.
using Weights3 = std::array<double, 3>;
Weights3 case_weights(const Squares& s) { return {1.0 / s.k, 0.0, -1.0 / s.k}; }
Weights3 agreement_error(const Squares& s) { return {0.0, 1.0 / s.n, 1.0 - 1.0 / s.n}; }
constexpr Weights3 residual_alone{0.0, 0.0, 1.0};

/// v / (v + error / k) with its limits.
Estimate share(const Squares& s, double v, double error, double k, const Weights3& error_weights,
               double confidence) {
  constexpr Reason nothing{"neither the cases nor the scores within a case vary"};
  if (v + error <= 0.0) return Estimate::undefined(nothing);
  Estimate result{v / (v + error / k), no_limits, no_limits, "modified large-sample", false};
  if (s.square[2] <= 0.0) {
    result.lower = result.upper = no_error;
    return result;
  }
  const Weights3 own = case_weights(s);
  std::vector<stats::RatioSquare> squares;
  for (std::size_t q = 0; q < 3; ++q) {
    const double part = own[q] + error_weights[q] / k;
    if (own[q] != 0.0 || part != 0.0) squares.push_back({own[q], part, s.square[q], s.df[q]});
  }
  if (const auto limits = stats::share_limits(squares, confidence)) {
    result.lower = limits->lower;
    result.upper = limits->upper;
  }
  return result;
}

Estimate root(double variance, const Result<stats::Interval>& limits, std::string_view method) {
  Estimate result{std::sqrt(variance), no_limits, no_limits, method, false};
  if (variance <= 0.0)
    result.lower = result.upper = no_error;
  else if (limits) {
    result.lower = std::sqrt(std::max(0.0, limits->lower));
    result.upper = std::sqrt(limits->upper);
  }
  return result;
}

void add_sem(IccReml& result, const Squares& s, double confidence) {
  const double rater = *result.components.rater, residual = *result.components.residual;
  const Weights3 weights = agreement_error(s);
  const std::array parts{stats::WeightedSquare{weights[1], s.square[1], s.df[1]},
                         stats::WeightedSquare{weights[2], s.square[2], s.df[2]}};
  result.sem_agreement =
      root(rater + residual, stats::modified_large_sample(parts, confidence), "modified large-sample");
  result.sem_consistency =
      root(residual, stats::chi_square_limits(residual, s.df[2], confidence), "chi-square");
}

void add_undefined(IccReml& result, Reason reason) {
  result.components = Components::undefined(reason);
  for (Estimate* estimate : {&result.agreement, &result.consistency, &result.agreement_mean,
                             &result.consistency_mean, &result.sem_agreement, &result.sem_consistency})
    *estimate = Estimate::undefined(reason);
}

}  // namespace

Reason reason_of(stats::RemlProblem problem) {
  switch (problem) {
    case stats::RemlProblem::too_few_levels:
      return "fewer than two cases or fewer than two raters have a score";
    case stats::RemlProblem::no_variation:
      return "all scores are the same";
    case stats::RemlProblem::no_residual_df:
      return "every score is needed to place the cases and raters: none is left for the residual";
    case stats::RemlProblem::confounded:
      return "the design cannot tell the variance components apart";
    case stats::RemlProblem::no_residual:
      return "the scores leave no residual: the likelihood has no maximum";
  }
  return "not computed";
}

IccReml icc_reml(const RatingTable& table, const IccRemlOptions& options) {
  const Ratings ratings = ratings_of(table);
  IccReml result;
  result.cases = ratings.of_case.size();
  result.raters = ratings.of_rater.size();
  result.ratings = ratings.values.size();
  result.k = options.k.value_or(static_cast<double>(result.raters));
  const auto fit = stats::reml_two_way(ratings.values, ratings.case_, ratings.rater);
  if (!fit) {
    add_undefined(result, reason_of(fit.error()));
    return result;
  }
  result.components = {fit->variance[0], fit->variance[1], fit->variance[2]};
  result.case_at_bound = fit->at_bound[0];
  result.rater_at_bound = fit->at_bound[1];
  result.linked_groups = fit->linked_groups;
  result.converged = fit->converged;
  result.iterations = fit->iterations;
  result.note = fit->linked_groups > 1 ? disconnected : fit->converged ? std::string_view() : not_settled;

  const Squares s = squares_of(table, ratings, *fit);
  const double own = fit->variance[0], both = fit->variance[1] + fit->variance[2], alone = fit->variance[2],
               level = options.confidence;
  result.agreement = share(s, own, both, 1.0, agreement_error(s), level);
  result.agreement_mean = share(s, own, both, result.k, agreement_error(s), level);
  result.consistency = share(s, own, alone, 1.0, residual_alone, level);
  result.consistency_mean = share(s, own, alone, result.k, residual_alone, level);
  add_sem(result, s, level);
  return result;
}

OneWayReml one_way_reml(const RatingTable& table) {
  const Ratings ratings = ratings_of(table);
  const auto fit = stats::reml_one_way(ratings.values, ratings.case_);
  if (!fit) {
    const Reason why = fit.error() == stats::RemlProblem::too_few_levels
                           ? Reason("fewer than two cases have a score")
                       : fit.error() == stats::RemlProblem::no_residual_df ? Reason("no case has two scores")
                                                                           : reason_of(fit.error());
    return {why, why, why};
  }
  const double case_ = fit->variance[0], within = fit->variance[1];
  return {case_, within, case_ / (case_ + within)};
}

}  // namespace evenhand::agreement
