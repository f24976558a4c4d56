#pragma once

#include <span>

#include "agreement/estimate.hpp"

namespace evenhand::agreement {

/// Which standard error the limits of the limits use.
enum class LimitsError {
  approximate_1986,  ///< SD sqrt(3/n)
  exact_1999,        ///< SD sqrt(1/n + z^2 / (2 (n-1)))
};

struct LimitsOfAgreementOptions {
  double z = 1.96;
  LimitsError error = LimitsError::exact_1999;
  double confidence = 0.95;
};

/// All in score points; differences are first minus second.
struct LimitsOfAgreement {
  Value bias;
  Value sd;        ///< divisor n - 1
  Estimate lower;  ///< bias - z SD, with t limits on n - 1 df
  Estimate upper;  ///< bias + z SD

  static LimitsOfAgreement undefined(Reason reason);
};

/// Undefined: no case; all but the bias: fewer than two cases.
/// Bland JM, Altman DG (1986). Lancet i:307-310; (1999). Statistical Methods in Medical Research
/// 8:135-160.
/// Reference values: tests/reference/expected.csv, ba_*
LimitsOfAgreement limits_of_agreement(std::span<const double> first, std::span<const double> second,
                                      const LimitsOfAgreementOptions& options = {});

}  // namespace evenhand::agreement
