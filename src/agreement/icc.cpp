#include "agreement/icc.hpp"

#include <algorithm>
#include <limits>

#include "agreement/components.hpp"
#include "stats/distributions.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason too_few{"fewer than two cases scored by every rater, or fewer than two raters"};
constexpr Reason no_variation{"all scores are the same"};
constexpr Reason cases_alike{"the cases do not differ in their mean score"};
constexpr Reason infinite_f{"scores within a case do not vary: F would be infinite"};
constexpr Reason unequal_numbers{
    "cases were scored by different numbers of raters: the F limits do not hold"};
constexpr Reason not_computed{"the F distribution gave no value"};

// Letters of Shrout & Fleiss 1979: n targets, k judges, B between targets, W within targets, J
// between judges, E residual mean square.
struct Design {
  double n, k, B, W, J, E;
};

Design design_of(const stats::TwoWayMeanSquares& s) {
  return {static_cast<double>(s.rows), static_cast<double>(s.columns), s.row, s.within, s.column, s.residual};
}

/// a / b, or why not.
Value ratio(double a, double b, Reason when_zero) { return b == 0.0 ? Value(when_zero) : Value(a / b); }

struct FTest {
  Value f, df1, df2, p;
};

FTest f_test(double between, double error, double df1, double df2) {
  FTest test{infinite_f, df1, df2, infinite_f};
  if (error == 0.0 && between == 0.0) test.f = test.p = no_variation;
  if (error == 0.0) return test;
  test.f = between / error;
  const auto p = stats::f_upper_tail(*test.f, df1, df2);
  test.p = p ? Value(*p) : Value(not_computed);
  return test;
}

struct FLimits {
  Value lower, upper;
};

/// F / F(1 - a/2; df1, df2) and F F(1 - a/2; df2, df1): limits of the ratio of expected mean squares.
FLimits f_limits(const FTest& test, double confidence) {
  if (!test.f) return {test.f, test.f};
  const double p = 1.0 - (1.0 - confidence) / 2.0;
  const auto low = stats::f_quantile(p, *test.df1, *test.df2),
             high = stats::f_quantile(p, *test.df2, *test.df1);
  return {low ? Value(*test.f / *low) : Value(not_computed),
          high ? Value(*test.f * *high) : Value(not_computed)};
}

template <class F>
Value map(const Value& value, F formula) {
  return value ? formula(*value) : value;
}

Icc make(IccForm form, Value estimate, const FTest& test, Value lower, Value upper) {
  Icc result;
  result.form = form;
  result.icc = {estimate, estimate ? lower : estimate, estimate ? upper : estimate, "F", false};
  result.f = test.f;
  result.df1 = test.df1;
  result.df2 = test.df2;
  result.p = test.p;
  return result;
}

/// Forms 1 and 3: one error mean square, so the limits of the F ratio carry over.
Icc single_of_ratio(IccForm form, double between, double error, double k, const FTest& test,
                    double confidence) {
  const auto limits = f_limits(test, confidence);
  const auto from_f = [k](double f) { return ratio(f - 1.0, f + k - 1.0, no_variation); };
  return make(form, ratio(between - error, between + (k - 1.0) * error, no_variation), test,
              map(limits.lower, from_f), map(limits.upper, from_f));
}

Icc average_of_ratio(IccForm form, double between, double error, const FTest& test, double confidence) {
  const auto limits = f_limits(test, confidence);
  const auto from_f = [](double f) { return f == 0.0 ? Value(cases_alike) : Value(1.0 - 1.0 / f); };
  return make(form, ratio(between - error, between, cases_alike), test, map(limits.lower, from_f),
              map(limits.upper, from_f));
}

struct AgreementLimits {
  Value single_lower, single_upper, average_lower, average_upper;
};

/// Form 2: the error is a sum of two mean squares; Satterthwaite's degrees of freedom (McGraw &
/// Wong 1996, table 7, with their a, b and v).
AgreementLimits agreement_limits(const Design& d, double icc, double confidence) {
  const auto [n, k, B, W, J, E] = d;
  constexpr Reason degenerate{"no variation besides that between cases: the limits are not defined"};
  if (icc >= 1.0) return {degenerate, degenerate, degenerate, degenerate};
  const double a = k * icc / (n * (1.0 - icc));
  const double b = 1.0 + k * icc * (n - 1.0) / (n * (1.0 - icc));
  const double sum = a * J + b * E;
  const double parts = a * J * a * J / (k - 1.0) + b * E * b * E / ((n - 1.0) * (k - 1.0));
  if (parts == 0.0 || sum == 0.0) return {degenerate, degenerate, degenerate, degenerate};
  const double v = sum * sum / parts;
  const double p = 1.0 - (1.0 - confidence) / 2.0;
  const auto low = stats::f_quantile(p, n - 1.0, v), high = stats::f_quantile(p, v, n - 1.0);
  // With v near 0 the quantiles of F run out of what a double can hold.
  constexpr Reason no_freedom{"Satterthwaite's degrees of freedom are near 0: the limits are not defined"};
  if (!low || !high) return {no_freedom, no_freedom, no_freedom, no_freedom};
  const double mixed = k * J + (k * n - k - n) * E;
  return {ratio(n * (B - *low * E), *low * mixed + n * B, degenerate),
          ratio(n * (*high * B - E), mixed + n * *high * B, degenerate),
          ratio(n * (B - *low * E), *low * (J - E) + n * B, degenerate),
          ratio(n * (*high * B - E), J - E + n * *high * B, degenerate)};
}

/// The least value the statistic can take; it is at most 1 in every form.
double least(IccForm form, const Design& d) {
  constexpr double none = -std::numeric_limits<double>::infinity();
  switch (form) {
    case IccForm::icc_1_1:
    case IccForm::icc_3_1:
      return -1.0 / (d.k - 1.0);
    case IccForm::icc_2_1: {
      const double divisor = d.k * d.n - d.k - d.n;
      return divisor > 0.0 ? -d.n / divisor : none;
    }
    default:
      return none;
  }
}

void mark_range(Icc& icc, double lowest) {
  const auto outside = [&](const Value& limit) { return limit && (*limit > 1.0 || *limit < lowest); };
  icc.icc.outside_range = outside(icc.icc.lower) || outside(icc.icc.upper);
}

}  // namespace

IccName name_of(IccForm form) {
  switch (form) {
    case IccForm::icc_1_1:
      return {"ICC(1,1)", "ICC(1)", "one-way random", "agreement", "single"};
    case IccForm::icc_2_1:
      return {"ICC(2,1)", "ICC(A,1)", "two-way random", "agreement", "single"};
    case IccForm::icc_3_1:
      return {"ICC(3,1)", "ICC(C,1)", "two-way mixed", "consistency", "single"};
    case IccForm::icc_1_k:
      return {"ICC(1,k)", "ICC(k)", "one-way random", "agreement", "average"};
    case IccForm::icc_2_k:
      return {"ICC(2,k)", "ICC(A,k)", "two-way random", "agreement", "average"};
    case IccForm::icc_3_k:
      return {"ICC(3,k)", "ICC(C,k)", "two-way mixed", "consistency", "average"};
  }
  return {};
}

Icc Icc::undefined(IccForm form, Reason reason) {
  return {form, Estimate::undefined(reason), reason, reason, reason, reason};
}

std::array<Icc, 6> icc_all(const stats::TwoWayMeanSquares& squares, double confidence) {
  const Design d = design_of(squares);
  const auto [n, k, B, W, J, E] = d;
  const FTest within = f_test(B, W, n - 1.0, n * (k - 1.0));
  const FTest residual = f_test(B, E, n - 1.0, (n - 1.0) * (k - 1.0));

  const Value single = ratio(B - E, B + (k - 1.0) * E + k * (J - E) / n, no_variation);
  const Value average = ratio(B - E, B + (J - E) / n, no_variation);
  const AgreementLimits limits =
      single ? agreement_limits(d, *single, confidence)
             : AgreementLimits{no_variation, no_variation, no_variation, no_variation};

  std::array result{
      single_of_ratio(IccForm::icc_1_1, B, W, k, within, confidence),
      make(IccForm::icc_2_1, single, residual, limits.single_lower, limits.single_upper),
      single_of_ratio(IccForm::icc_3_1, B, E, k, residual, confidence),
      average_of_ratio(IccForm::icc_1_k, B, W, within, confidence),
      make(IccForm::icc_2_k, average, residual, limits.average_lower, limits.average_upper),
      average_of_ratio(IccForm::icc_3_k, B, E, residual, confidence),
  };
  for (Icc& icc : result) mark_range(icc, least(icc.form, d));
  return result;
}

Icc icc(const RatingTable& table, IccForm form, double confidence) {
  const auto squares = two_way(table);
  if (!squares) return Icc::undefined(form, too_few);
  const auto all = icc_all(*squares, confidence);
  return *std::find_if(all.begin(), all.end(), [&](const Icc& icc) { return icc.form == form; });
}

Icc icc_one_way(const RatingTable& table, double confidence) {
  const auto squares = one_way(table);
  if (!squares)
    return Icc::undefined(IccForm::icc_1_1, "fewer than two cases, or no case scored by two raters");
  const double B = squares->between, W = squares->within, k0 = squares->k0;
  const auto groups = static_cast<double>(squares->groups);
  const FTest test = f_test(B, W, groups - 1.0, static_cast<double>(squares->values) - groups);
  Icc result = single_of_ratio(IccForm::icc_1_1, B, W, k0, test, confidence);
  if (!squares->balanced && result.icc.estimate) {
    result.icc.lower = unequal_numbers;
    result.icc.upper = unequal_numbers;
  }
  mark_range(result, -1.0 / (k0 - 1.0));
  return result;
}

}  // namespace evenhand::agreement
