#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>

#include "agreement/agreement.hpp"
#include "agreement/columns.hpp"

namespace evenhand::agreement {

// Where limits are too narrow for a design, by rules from simulated coverage (reports/methods/coverage.md,
// "From where on a caution is due").

/// How scores spread over their levels.
struct Spread {
  double at_one_end = 0.0;  ///< share of the scores at the highest level given, or at the lowest: the larger
  double elsewhere = 1.0;   ///< share of all levels but the one given most
};

/// Of all raters but the key, over these columns together; they are on one scale.
Spread spread_of(std::span<const Columns> columns, std::optional<std::size_t> key);

/// Of which limits the cautions say that they are too narrow near an end of the scale.
struct NearAnEnd {
  bool icc = false, sem = false, pairs = false;
};

/// Of shares over all items: it speaks of raters one by one, and is due to nearly every group that is any
/// good.
inline constexpr std::string_view of_single_raters =
    "A share near 1 of a single rater: its limits lean the wrong way and are too narrow.";

/// Adds the sentences that are due to a measure whose group and pairs are there.
NearAnEnd add_cautions(Measure& result, const Spread& spread, const StatisticSet& only);

/// The same for all raters' scores beside the key, which stand in `disagreement`.
void add_cautions(Measure& result, const Columns& columns, std::size_t key);

/// The same for the scores of all items beside the key.
void add_cautions(AcrossItems& result, std::span<const Columns> items, std::size_t key);

}  // namespace evenhand::agreement
