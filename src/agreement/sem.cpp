#include "agreement/sem.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "agreement/components.hpp"
#include "agreement/icc.hpp"
#include "stats/distributions.hpp"
#include "stats/moments.hpp"
#include "stats/satterthwaite.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason no_limits{"the limits could not be computed"};
constexpr Reason no_error{"the scores leave no error: limits are not defined"};

/// The square root of a variance that has `df` degrees of freedom, with chi-square limits.
Estimate root_with_limits(double variance, double df, double confidence, std::string_view method) {
  constexpr Reason not_computed{"the chi-square distribution gave no value"};
  Estimate result{std::sqrt(variance), not_computed, not_computed, method, false};
  if (variance == 0.0) {
    result.lower = result.upper = no_error;
    return result;
  }
  const double tail = (1.0 - confidence) / 2.0;
  if (const auto high = stats::chi_square_quantile(1.0 - tail, df))
    result.lower = std::sqrt(df * variance / *high);
  if (const auto low = stats::chi_square_quantile(tail, df)) result.upper = std::sqrt(df * variance / *low);
  return result;
}

}  // namespace

Sem Sem::undefined(Reason reason) {
  return {Estimate::undefined(reason), Estimate::undefined(reason), false};
}

Sem sem(const stats::TwoWayMeanSquares& squares, double confidence) {
  const auto n = static_cast<double>(squares.rows), k = static_cast<double>(squares.columns);
  const double residual_df = (n - 1.0) * (k - 1.0);
  Sem result;
  result.consistency = root_with_limits(squares.residual, residual_df, confidence, "chi-square");
  constexpr double equal_share =
      1e-12;  // mean squares that are equal but for rounding leave nothing negative
  result.rater_set_to_zero = squares.column < squares.residual * (1.0 - equal_share);
  const double of_rater = 1.0 / n, of_residual = (n - 1.0) / n;
  const double variance =
      std::max(squares.residual, of_rater * squares.column + of_residual * squares.residual);
  result.agreement = {std::sqrt(variance), no_limits, no_limits, "modified large-sample", false};
  if (variance == 0.0) {
    result.agreement.lower = result.agreement.upper = no_error;
    return result;
  }
  const std::array<stats::WeightedSquare, 2> parts{
      {{of_rater, squares.column, k - 1.0}, {of_residual, squares.residual, residual_df}}};
  if (const auto limits = stats::modified_large_sample(parts, confidence)) {
    result.agreement.lower = std::sqrt(std::max(0.0, limits->lower));
    result.agreement.upper = std::sqrt(limits->upper);
  }
  return result;
}

Value sem_within(const stats::TwoWayMeanSquares& squares) { return std::sqrt(squares.within); }

Value sem_from_icc(const RatingTable& table) {
  const Icc agreement = icc(table, IccForm::icc_2_1);
  if (!agreement.icc.estimate) return agreement.icc.estimate;
  const RatingTable kept = table.complete_cases();
  // An ICC with a value has at least two cases and raters behind it, and is at most 1.
  const double sd = *stats::standard_deviation(*stats::moments(kept.values()));
  return sd * std::sqrt(1.0 - *agreement.icc.estimate);
}

Value mdc95(const Value& sem, double z) { return sem ? Value(z * std::sqrt(2.0) * *sem) : sem; }

}  // namespace evenhand::agreement
