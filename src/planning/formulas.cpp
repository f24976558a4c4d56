#include "planning/formulas.hpp"

#include <algorithm>
#include <cmath>

#include "stats/distributions.hpp"

namespace evenhand::planning {
namespace {

Result<void> check_share(const char* name, double share) {
  if (share > 0.0 && share < 1.0) return {};
  return fail(Errc::invalid, "{} is {}: it lies between 0 and 1", name, share);
}

Result<void> check_raters(std::size_t raters) {
  if (raters >= 2) return {};
  return fail(Errc::invalid, "{} rater: agreement takes two", raters);
}

/// alpha and power in (0, 1); with power at or below alpha nothing needs to be measured.
Result<void> check_test(double alpha, double power) {
  if (auto ok = check_share("alpha", alpha); !ok) return ok;
  if (auto ok = check_share("the power", power); !ok) return ok;
  if (power > alpha) return {};
  return fail(Errc::invalid, "a power of {} is no more than alpha, {}", power, alpha);
}

/// z with upper tail `tail`, a share already checked.
double upper_z(double tail) { return *stats::normal_quantile(1.0 - tail); }

/// Noncentrality at which chi-square with one degree of freedom exceeds its central 1 - alpha quantile with
/// probability `power`: the square of the shift d of a normal with P(|Z + d| > z) = power.
double noncentrality(double alpha, double power) {
  const double z = upper_z(alpha / 2.0);
  double low = 0.0, high = z + 40.0;
  for (int step = 0; step < 200; ++step) {
    const double d = (low + high) / 2.0;
    const double reached = *stats::normal_upper_tail(z - d) + *stats::normal_upper_tail(z + d);
    (reached < power ? low : high) = d;
  }
  return low * low;
}

}  // namespace

FormulaFacts facts_of(Formula formula) {
  switch (formula) {
    case Formula::bonett:
      return {
          "Bonett 2002",
          "It takes every rater to be as severe as the next, so it is too few for ICC(2,1) where they are "
          "not; it knows no steps and no ceiling; and about half of all studies come out wider than "
          "planned."};
    case Formula::walter:
      return {
          "Walter, Eliasziw & Donner 1998",
          "It takes every rater to be as severe as the next, so it is too few for ICC(2,1) where they are "
          "not; it knows no steps and no ceiling. The test is one-sided; a two-sided one needs more."};
    case Formula::donner:
      return {
          "Donner & Eliasziw 1992",
          "For two raters and two categories, both raters saying yes equally often. The test is two-sided. "
          "The answer depends much on the share of yes: try a lower one too."};
    case Formula::cantor:
      return {
          "Cantor 1996",
          "For two raters and two categories, by a normal approximation that is rough below some 30 cases. "
          "The test is one-sided; a two-sided one needs more."};
  }
  return {};
}

Result<BonettCases> bonett_cases(double icc, std::size_t raters, double width, double confidence) {
  if (!(icc >= 0.0 && icc < 1.0))
    return fail(Errc::invalid, "the expected ICC is {}: it lies from 0 to below 1", icc);
  if (auto ok = check_raters(raters); !ok) return tl::unexpected(ok.error());
  if (!(width > 0.0 && width < 2.0))
    return fail(Errc::invalid, "the width is {}: it lies between 0 and 2", width);
  if (auto ok = check_share("the confidence", confidence); !ok) return tl::unexpected(ok.error());
  const auto k = static_cast<double>(raters);
  const double z = upper_z((1.0 - confidence) / 2.0);
  const double spread = z * (1.0 - icc) * (1.0 + (k - 1.0) * icc) / width;
  return BonettCases{.cases = 8.0 * spread * spread / (k * (k - 1.0)) + 1.0,
                     .added = raters == 2 && icc >= 0.7 ? 5.0 * icc : 0.0};
}

Result<double> walter_cases(double null, double expected, std::size_t raters, double alpha, double power) {
  if (!(0.0 <= null && null < expected && expected < 1.0))
    return fail(Errc::invalid,
                "the ICC to exceed is {} and the expected one {}: needed is 0 <= to exceed < expected < 1",
                null, expected);
  if (auto ok = check_raters(raters); !ok) return tl::unexpected(ok.error());
  if (auto ok = check_test(alpha, power); !ok) return tl::unexpected(ok.error());
  const auto k = static_cast<double>(raters);
  const auto theta = [k](double icc) { return 1.0 + k * icc / (1.0 - icc); };
  const double z = upper_z(alpha) + upper_z(1.0 - power);
  const double log_c = std::log(theta(null) / theta(expected));
  return 1.0 + 2.0 * z * z * k / (log_c * log_c * (k - 1.0));
}

Result<double> donner_cases(double null, double expected, double yes, double alpha, double power) {
  for (const double kappa : {null, expected})
    if (!(kappa >= 0.0 && kappa <= 1.0) || null == 1.0)
      return fail(Errc::invalid, "a kappa of {}: this model holds from 0 to below 1", kappa);
  if (null == expected)
    return fail(Errc::invalid, "the kappa to exceed is the expected one, {}: nothing to tell apart", null);
  if (auto ok = check_share("the share of yes", yes); !ok) return tl::unexpected(ok.error());
  if (auto ok = check_test(alpha, power); !ok) return tl::unexpected(ok.error());
  const double spread = yes * (1.0 - yes);
  const double shift = (expected - null) * spread;
  // Cells: both yes, one of each (both orders), both no. The middle one moves twice as far.
  const double both_yes = yes * yes + null * spread, one_each = 2.0 * spread * (1.0 - null),
               both_no = (1.0 - yes) * (1.0 - yes) + null * spread;
  const double per_case = shift * shift * (1.0 / both_yes + 4.0 / one_each + 1.0 / both_no);
  return noncentrality(alpha, power) / per_case;
}

Result<double> kappa_unit_variance(double kappa, double first_yes, double second_yes) {
  if (auto ok = check_share("the share of yes", first_yes); !ok) return tl::unexpected(ok.error());
  if (auto ok = check_share("the share of yes", second_yes); !ok) return tl::unexpected(ok.error());
  const double a = first_yes, b = second_yes;
  const double chance = a * b + (1.0 - a) * (1.0 - b);
  const double observed = 1.0 - (1.0 - kappa) * (1.0 - chance);
  const double both_yes = (observed - 1.0 + a + b) / 2.0;
  const double lowest = std::max(0.0, a + b - 1.0), highest = std::min(a, b);
  if (!(both_yes >= lowest - 1e-12 && both_yes <= highest + 1e-12)) {
    const auto kappa_at = [&](double cell) { return 1.0 - (a + b - 2.0 * cell) / (1.0 - chance); };
    return fail(
        Errc::invalid,
        "a kappa of {} cannot be where the raters say yes for {} and {} of the cases: these allow {:.3f} "
        "to {:.3f}",
        kappa, a, b, kappa_at(lowest), kappa_at(highest));
  }
  const double both_no = observed - both_yes;
  const double rest = 1.0 - kappa;
  const auto square = [](double x) { return x * x; };
  const double agreeing =
      both_yes * square(1.0 - (a + b) * rest) + both_no * square(1.0 - (2.0 - a - b) * rest);
  // Off the diagonal: p_ij (p.i + p_j.)^2, i the first rater's category and j the second's.
  const double differing = (a - both_yes) * square(b + 1.0 - a) + (b - both_yes) * square(1.0 - b + a);
  return (agreeing + rest * rest * differing - square(kappa - chance * rest)) / square(1.0 - chance);
}

Result<double> cantor_cases(double null, double expected, double first_yes, double second_yes, double alpha,
                            double power) {
  if (null == expected)
    return fail(Errc::invalid, "the kappa to exceed is the expected one, {}: nothing to tell apart", null);
  if (auto ok = check_test(alpha, power); !ok) return tl::unexpected(ok.error());
  const auto q0 = kappa_unit_variance(null, first_yes, second_yes);
  if (!q0) return tl::unexpected(q0.error());
  const auto q1 = kappa_unit_variance(expected, first_yes, second_yes);
  if (!q1) return tl::unexpected(q1.error());
  const double n_root =
      (upper_z(alpha) * std::sqrt(*q0) + upper_z(1.0 - power) * std::sqrt(std::max(0.0, *q1))) /
      (expected - null);
  return n_root * n_root;
}

}  // namespace evenhand::planning
