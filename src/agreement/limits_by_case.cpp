#include "agreement/limits_by_case.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <optional>

#include "agreement/by_case.hpp"
#include "agreement/concordance.hpp"
#include "agreement/icc.hpp"
#include "agreement/sem.hpp"
#include "stats/distributions.hpp"
#include "stats/mean_squares.hpp"
#include "stats/moments.hpp"
#include "stats/satterthwaite.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason too_few{"fewer than three cases: their spread cannot be told"};
constexpr Reason no_variance{"no variance between cases, or none within them"};
constexpr Reason no_value_without{"without one of the cases there is no value"};
constexpr Reason not_computed{"the limits could not be computed"};

/// Mean squares of case and residual without each case in turn.
struct WithoutEach {
  std::vector<double> case_, residual;
};

/// Leaving out one of n vectors that lie d from their mean takes n / (n - 1) d^2 off the sum of squares: of
/// the cases' means, and of the scores of a case less its mean.
WithoutEach without_each(const RatingTable& table) {
  const std::size_t n = table.cases(), k = table.raters();
  const auto raters = static_cast<double>(k), cases = static_cast<double>(n);
  const auto values = table.values();
  const double origin = values.front();
  std::vector<double> of_case(n), of_rater(k);
  double grand = 0.0;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < k; ++j) {
      const double value = values[i * k + j] - origin;
      of_case[i] += value / raters;
      of_rater[j] += value / cases;
      grand += value / (cases * raters);
    }
  std::vector<double> between(n), within(n);  // squares of each case
  double all_between = 0.0, all_within = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    between[i] = raters * (of_case[i] - grand) * (of_case[i] - grand);
    for (std::size_t j = 0; j < k; ++j) {
      const double rest = values[i * k + j] - origin - of_case[i] - (of_rater[j] - grand);
      within[i] += rest * rest;
    }
    all_between += between[i];
    all_within += within[i];
  }
  WithoutEach result;
  const double share = cases / (cases - 1.0);
  for (std::size_t i = 0; i < n; ++i) {
    result.case_.push_back(std::max(0.0, all_between - share * between[i]) / (cases - 2.0));
    result.residual.push_back(std::max(0.0, all_within - share * within[i]) /
                              ((cases - 2.0) * (raters - 1.0)));
  }
  return result;
}

/// 2 MS^2 / V, at most those of the design; nothing where no case moves the square.
std::optional<double> degrees(double square, const std::vector<double>& without, double of_design) {
  const auto moments = stats::moments(without);
  const auto n = static_cast<double>(without.size());
  const double variance = moments->squares * (n - 1.0) / n;
  if (!(variance > 0.0)) return std::nullopt;
  return std::min(of_design, 2.0 * square * square / variance);
}

void put(Estimate& estimate, const Result<stats::Interval>& limits, double (*turned)(double)) {
  if (!limits) return;
  estimate.lower = turned(limits->lower);
  estimate.upper = turned(limits->upper);
}

double as_it_is(double value) { return value; }
double root(double value) { return std::sqrt(std::max(0.0, value)); }

void add_limits(VarianceLimits& result, const stats::TwoWayMeanSquares& squares, double of_case,
                double of_residual, double confidence) {
  const auto n = static_cast<double>(squares.rows), k = static_cast<double>(squares.columns);
  const double of_rater = k - 1.0;
  const std::array<stats::RatioSquare, 3> agreement{
      {{1.0 / k, 1.0 / k, squares.row, of_case},
       {0.0, 1.0 / n, squares.column, of_rater},
       {-1.0 / k, -1.0 / k + 1.0 - 1.0 / n, squares.residual, of_residual}}};
  put(result.icc_agreement, stats::share_limits(agreement, confidence), as_it_is);
  const std::array<stats::RatioSquare, 2> consistency{
      {{1.0 / k, 1.0 / k, squares.row, of_case}, {-1.0 / k, 1.0 - 1.0 / k, squares.residual, of_residual}}};
  put(result.icc_consistency, stats::share_limits(consistency, confidence), as_it_is);
  const std::array<stats::WeightedSquare, 2> error{
      {{1.0 / n, squares.column, of_rater}, {1.0 - 1.0 / n, squares.residual, of_residual}}};
  put(result.sem_agreement, stats::modified_large_sample(error, confidence), root);
  put(result.sem_consistency, stats::chi_square_limits(squares.residual, of_residual, confidence), root);
}

/// Squares about the means, and of the differences as they are.
struct PairSquares {
  double n, about_means, differences, shift;

  /// Lin's concordance, 1 less what is lost.
  Value concordance(double rounding) const {
    const double spread = about_means + n * shift * shift;
    if (!(spread > rounding)) return no_value_without;
    return 1.0 - std::max(0.0, differences) / spread;
  }
};

}  // namespace

VarianceLimits variance_limits_by_case(const RatingTable& all, double confidence) {
  const RatingTable table = all.complete_cases();
  VarianceLimits result;
  const Icc agreement = icc(table, IccForm::icc_2_1), consistency = icc(table, IccForm::icc_3_1);
  const auto squares = table.cases() == 0
                           ? Result<stats::TwoWayMeanSquares>(fail(Errc::undefined, "no case"))
                           : stats::two_way_mean_squares(table.values(), table.cases(), table.raters());
  const Sem errors =
      squares ? sem(*squares) : Sem::undefined("fewer than two cases were scored by every rater");
  const auto begin = [](Estimate& estimate, const Value& value, Reason why) {
    estimate = value ? Estimate{value, why, why, {}, false} : Estimate{value, value, value, {}, false};
  };
  const auto begin_all = [&](Reason why) {
    begin(result.icc_agreement, agreement.icc.estimate, why);
    begin(result.icc_consistency, consistency.icc.estimate, why);
    begin(result.sem_agreement, errors.agreement.estimate, why);
    begin(result.sem_consistency, errors.consistency.estimate, why);
    return result;
  };
  if (!squares || table.cases() < 3) return begin_all(too_few);
  if (!(squares->row > 0.0) || !(squares->residual > 0.0)) return begin_all(no_variance);
  const auto n = static_cast<double>(table.cases()), k = static_cast<double>(table.raters());
  const WithoutEach without = without_each(table);
  const auto of_case = degrees(squares->row, without.case_, n - 1.0);
  const auto of_residual = degrees(squares->residual, without.residual, (n - 1.0) * (k - 1.0));
  if (!of_case || !of_residual)
    return begin_all("every case shows the same error: how far they differ cannot be told");
  begin_all(not_computed);
  add_limits(result, *squares, *of_case, *of_residual, confidence);
  for (Estimate* one :
       {&result.icc_agreement, &result.icc_consistency, &result.sem_agreement, &result.sem_consistency})
    one->method = "degrees of freedom told from the cases";
  return result;
}

PairLimits PairLimits::undefined(Reason reason) {
  return {Estimate::undefined(reason), Estimate::undefined(reason), Estimate::undefined(reason)};
}

PairLimits pair_limits_by_case(std::span<const double> first, std::span<const double> second,
                               double confidence, double z) {
  assert(first.size() == second.size());
  const LimitsOfAgreement textbook = limits_of_agreement(first, second, {.z = z, .confidence = confidence});
  if (first.size() < 2) return PairLimits::undefined("fewer than two cases were scored by both");
  const auto n = static_cast<double>(first.size());
  const double mean1 = stats::moments(first)->mean, mean2 = stats::moments(second)->mean;
  PairSquares all{n, 0.0, 0.0, mean1 - mean2};
  for (std::size_t i = 0; i < first.size(); ++i) {
    const double a = first[i] - mean1, b = second[i] - mean2, d = first[i] - second[i];
    all.about_means += a * a + b * b;
    all.differences += d * d;
  }
  const double rounding = 1e-12 * (all.about_means + n * all.shift * all.shift);
  // Squares about a mean lose n / (n - 1) times those of the case, and means move by its deviation / (n - 1).
  const double share = n / (n - 1.0);
  const auto concordance_without = [&](std::size_t i) {
    const double a = first[i] - mean1, b = second[i] - mean2, d = first[i] - second[i];
    const PairSquares left{n - 1.0, all.about_means - share * (a * a + b * b), all.differences - d * d,
                           all.shift - (a - b) / (n - 1.0)};
    return left.concordance(rounding);
  };
  const double squares = *textbook.sd * *textbook.sd * (n - 1.0);
  const auto limit_without = [&](double times) {
    return [&, times](std::size_t i) -> Value {
      const double d = (first[i] - mean1) - (second[i] - mean2);
      const double left = std::max(0.0, squares - share * d * d);
      return all.shift - d / (n - 1.0) + times * std::sqrt(left / (n - 2.0));
    };
  };
  PairLimits result;
  const Value concordant = concordance(first, second, confidence).estimate;
  result.concordance = jackknifed_z_by_case(concordant ? all.concordance(rounding) : concordant, first.size(),
                                            concordance_without, confidence);
  const auto limit = [&](const Value& at, double times) {
    Estimate estimate = jackknifed_by_case(at, first.size(), limit_without(times), confidence).estimate;
    estimate.outside_range = false;  // differences have no end
    return estimate;
  };
  result.lower = limit(textbook.lower.estimate, -z);
  result.upper = limit(textbook.upper.estimate, z);
  return result;
}

}  // namespace evenhand::agreement
