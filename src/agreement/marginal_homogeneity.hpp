#pragma once

#include "agreement/estimate.hpp"
#include "agreement/kappa.hpp"

namespace evenhand::agreement {

struct HomogeneityTest {
  Value chi2;
  Value df;
  Value p;

  static HomogeneityTest undefined(Reason reason) { return {reason, reason, reason}; }
};

/// Stuart and Maxwell's test that both raters use each category equally often: d' S^-1 d, d the
/// differences of the margins, S their covariance when there is none. Categories without a discordant
/// case are left out. Where the discordant categories fall into groups that never mix, each group is
/// tested within itself, and df is the number of such categories less the number of groups.
///
/// undefined  no case; no discordant case
/// cost       O(q^3)
///
/// Stuart A (1955). Biometrika 42:412-416. Maxwell AE (1970). British Journal of Psychiatry 116:651-655.
/// Reference values: tests/reference/expected.csv, stuart_maxwell_*
HomogeneityTest stuart_maxwell(const CrossTable& table);

struct SymmetryTest {
  Value chi2;
  Value df;      ///< pairs of categories with a discordant case
  Value p;       ///< with df
  Value df_all;  ///< q (q - 1) / 2: every pair of categories in the list
  Value p_all;   ///< with df_all

  static SymmetryTest undefined(Reason reason) { return {reason, reason, reason, reason, reason}; }
};

/// Bowker's test of symmetry: sum over i < j of (n_ij - n_ji)^2 / (n_ij + n_ji), pairs without a
/// discordant case left out.
/// undefined  no case; no discordant case
/// Bowker AH (1948). Journal of the American Statistical Association 43:572-574.
/// Reference values: tests/reference/expected.csv, bowker_*
SymmetryTest bowker(const CrossTable& table);

struct McNemar {
  Value chi2;  ///< (b - c)^2 / (b + c), 1 degree of freedom
  Value p;
  Value chi2_corrected;  ///< (|b - c| - 1)^2 / (b + c), Edwards' continuity correction; 0 when b = c
  Value p_corrected;
  Value exact_p;  ///< two-sided binomial: twice the smaller tail, at most 1

  static McNemar undefined(Reason reason) { return {reason, reason, reason, reason, reason}; }
};

/// McNemar's test that both raters use the first of two categories equally often.
/// undefined  other than two categories; no case; no discordant case
/// McNemar Q (1947). Psychometrika 12:153-157. Edwards AL (1948). Psychometrika 13:185-187.
/// Reference values: tests/reference/expected.csv, mcnemar_*
McNemar mcnemar(const CrossTable& table);

}  // namespace evenhand::agreement
