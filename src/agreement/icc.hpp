#pragma once

#include <array>
#include <string_view>

#include "agreement/estimate.hpp"
#include "agreement/rating_table.hpp"
#include "stats/mean_squares.hpp"

namespace evenhand::agreement {

/// The forms of Shrout & Fleiss: 1 one-way random, 2 two-way random (agreement), 3 two-way mixed
/// (consistency); of a single rating, or of the mean of all k raters.
enum class IccForm { icc_1_1, icc_2_1, icc_3_1, icc_1_k, icc_2_k, icc_3_k };

inline constexpr std::array icc_forms{IccForm::icc_1_1, IccForm::icc_2_1, IccForm::icc_3_1,
                                      IccForm::icc_1_k, IccForm::icc_2_k, IccForm::icc_3_k};

struct IccName {
  std::string_view form;        ///< Shrout & Fleiss 1979: "ICC(2,1)"
  std::string_view also;        ///< McGraw & Wong 1996: "ICC(A,1)"
  std::string_view model;       ///< "two-way random"
  std::string_view definition;  ///< "agreement" or "consistency"
  std::string_view unit;        ///< "single" or "average"
};
IccName name_of(IccForm form);

struct Icc {
  IccForm form = IccForm::icc_2_1;
  Estimate icc;
  Value f;  ///< tests that the cases do not differ; for form 2 this is MS_case / MS_residual
  Value df1;
  Value df2;
  Value p;

  static Icc undefined(IccForm form, Reason reason);
};

/// Intraclass correlation: the share of the variance of ratings that is due to true differences
/// between cases.
///
/// table      n cases x k raters on an interval scale. Cases with a missing rating are left out.
///            The unit of the scale cancels out.
/// returns    Dimensionless, at most 1. Below 0 when raters differ more within a case than cases
///            differ: reported as it is, never clipped.
/// undefined  fewer than two complete cases or two raters; no variation in the ratings, or none
///            between cases for the average forms 1 and 3. F, p and limits: the variation F
///            divides by is zero.
/// cost       O(n k) time
///
/// Shrout PE, Fleiss JL (1979). Intraclass correlations: uses in assessing rater reliability.
/// Psychological Bulletin 86(2):420-428. Limits of form 2 in the notation of McGraw KO, Wong SP
/// (1996). Psychological Methods 1:30-46, table 7 (the same values).
/// Reference values: tests/reference/expected.csv, icc_*
Icc icc(const RatingTable& table, IccForm form, double confidence = 0.95);

/// All six in the order of `icc_forms`, from mean squares at hand.
std::array<Icc, 6> icc_all(const stats::TwoWayMeanSquares& squares, double confidence = 0.95);

/// ICC(1,1) from every rating, cases rated by different numbers of raters allowed:
/// (MSB - MSW) / (MSB + (k0 - 1) MSW). The limits hold for equal numbers only and are
/// undefined otherwise.
Icc icc_one_way(const RatingTable& table, double confidence = 0.95);

}  // namespace evenhand::agreement
