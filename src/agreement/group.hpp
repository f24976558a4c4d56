#pragma once

#include <cstddef>
#include <optional>

#include "agreement/agreement.hpp"
#include "agreement/chance_corrected.hpp"
#include "agreement/columns.hpp"

namespace evenhand::agreement {

// Why a statistic does not apply to a scale, in the words that all of them share.
inline constexpr Reason no_order{"nominal categories have no order"};
inline constexpr Reason no_distances{"nominal categories have no distances"};
inline constexpr Reason labels{"the categories are labels, not numbers"};
inline constexpr Reason continuous{"more than 250 categories: the scores are on a continuous scale"};

/// Why interval statistics do not apply; nothing when they do.
std::optional<Reason> no_interval(const Scale& scale);

EstimateWithError undefined(Reason reason);
EstimateWithError with_error(const ChanceCorrected& coefficient);

/// Statistics of the raters as a group; the key is none of them, nor is a rater without a score.
/// Cases that not every rater scored are left out where a formula needs complete cases; REML, alpha,
/// Gwet's and Fleiss' coefficient use every score.
void add_group(Measure& result, const Columns& columns, std::optional<std::size_t> key,
               const AgreementOptions& options);

/// The scores of that group on an interval scale, as values.
RatingTable group_table(const Columns& columns, std::optional<std::size_t> key);

}  // namespace evenhand::agreement
