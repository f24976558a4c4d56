#pragma once

#include <cstddef>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::planning {

// Numbers of cases by formula, not rounded: round up. Each answers a narrower question than the simulation
// does; what it leaves out stands beside it and is said with every answer (see facts_of).

enum class Formula { bonett, walter, donner, cantor };

struct FormulaFacts {
  std::string_view source;   ///< "Bonett 2002"
  std::string_view caution;  ///< what it leaves out, in whole sentences
};
FormulaFacts facts_of(Formula formula);

/// Bonett's number of cases, and what he adds for small studies.
struct BonettCases {
  double cases;
  double added;  ///< 5 x the ICC for two raters and an ICC of .7 or more, else 0

  double total() const { return cases + added; }
};

/// Cases for an interval of the full width `width` around a one-way ICC:
/// 8 z^2 (1 - icc)^2 (1 + (k - 1) icc)^2 / (k (k - 1) width^2) + 1, k raters.
///
/// Leaves out: a rater effect, so it is too few for ICC(2,1); steps and ceiling of the scale. The width is
/// the expected one: about half of all studies come out wider.
/// errors  invalid  icc outside [0, 1), raters below 2, width outside (0, 2), confidence outside (0, 1)
///
/// Bonett DG (2002). Statistics in Medicine 21:1331-1335.
/// Reference values: tests/reference/expected.csv, sample_size;method=bonett2002
Result<BonettCases> bonett_cases(double icc, std::size_t raters, double width, double confidence = 0.95);

/// Cases with which a one-sided test at level `alpha` shows, with probability `power`, that a one-way ICC
/// that is `expected` lies above `null`:
/// 1 + 2 (z_alpha + z_beta)^2 k / ((ln C)^2 (k - 1)), k raters (the paper's n; its k are the cases).
/// Zou GY (2012), Statistics in Medicine 31:3972-3981, reads the power as the assurance that the one-sided
/// lower limit exceeds `null`.
///
/// Leaves out: a rater effect, so it is too few for ICC(2,1); steps and ceiling of the scale.
/// errors  invalid  not 0 <= null < expected < 1, raters below 2, alpha or power outside (0, 1) or power not
///                  above alpha
///
/// Walter SD, Eliasziw M, Donner A (1998). Statistics in Medicine 17:101-110.
/// Reference values: tests/reference/expected.csv, sample_size;method=walter1998
Result<double> walter_cases(double null, double expected, std::size_t raters, double alpha = 0.05,
                            double power = 0.8);

/// Cases with which the goodness-of-fit test of kappa = `null` (two raters, two categories, two-sided level
/// `alpha`) rejects with probability `power` when kappa is `expected`. Both raters are taken to say yes
/// equally often, for a share `yes` of the cases: P(yes, yes) = yes^2 + kappa yes (1 - yes), and so on;
/// N = lambda / sum (P1 - P0)^2 / P0, lambda the noncentrality of chi-square with one degree of freedom.
///
/// Leaves out: a rater who says yes more often than the other; more than two categories.
/// errors  invalid  kappas not in [0, 1) or equal (kappa of 1 is no null), yes outside (0, 1), alpha or power
///                  outside (0, 1) or power not above alpha
///
/// Donner A, Eliasziw M (1992). Statistics in Medicine 11:1511-1519.
Result<double> donner_cases(double null, double expected, double yes, double alpha = 0.05,
                            double power = 0.8);

/// Cases with which a one-sided test at level `alpha` shows with probability `power` that kappa of two raters
/// and two categories, being `expected`, lies above (or below) `null`; the raters say yes for shares
/// `first_yes` and `second_yes` of the cases: ((z_alpha sqrt(Q0) + z_beta sqrt(Q1)) / (expected - null))^2,
/// Q = n var(kappa) of Fleiss, Cohen & Everitt 1969.
///
/// Leaves out: more than two categories. Normal approximation: rough below some 30 cases.
/// errors  invalid  kappas equal, or outside what these shares allow; shares, alpha or power outside (0, 1)
///
/// Cantor AB (1996). Psychological Methods 1:150-153.
Result<double> cantor_cases(double null, double expected, double first_yes, double second_yes,
                            double alpha = 0.05, double power = 0.8);

/// Q of Cantor 1996: the number of cases times the large-sample variance of kappa (Fleiss JL, Cohen J,
/// Everitt BS (1969), Psychological Bulletin 72:323-327) for two raters and two categories.
/// errors  invalid  shares outside (0, 1), or a kappa that they do not allow
Result<double> kappa_unit_variance(double kappa, double first_yes, double second_yes);

}  // namespace evenhand::planning
