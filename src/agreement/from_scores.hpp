#pragma once

#include "agreement/agreement.hpp"
#include "scores/resolve.hpp"

namespace evenhand::agreement {

/// The scores that count, laid out for the statistics. Columns keep their label (`rater`, or
/// `rater@sitting`); a score filled in by the skip rule counts in totals only.
ScoreMatrix matrix_of(const scores::Resolved& resolved);

/// The same three levels under the name the statistics use.
Level level_of(scores::Level level);

}  // namespace evenhand::agreement
