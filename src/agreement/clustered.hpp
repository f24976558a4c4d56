#pragma once

#include <span>

#include "agreement/estimate.hpp"

namespace evenhand::agreement {

/// Name of the interval below, as reports show it.
inline constexpr std::string_view by_case_method = "t by case (ratio estimator)";

/// sum(part) / sum(whole), one entry a case, with an interval that treats the case as the unit of
/// sampling: scores inside one case are not independent. Variance by linearization,
/// C/(C-1) sum (part - r whole)^2 / (sum whole)^2, t on C - 1 df; cases with whole = 0 do not
/// count. With equal wholes this is the t interval over the shares of the cases.
/// Limits are not truncated; the caller knows the range and sets outside_range.
/// undefined  sum(whole) = 0. Limits: fewer than two cases.
/// Cochran WG (1977). Sampling Techniques, 3rd ed., section 6.3 (without finite correction).
Estimate ratio_by_case(std::span<const double> part, std::span<const double> whole, double confidence = 0.95);

}  // namespace evenhand::agreement
