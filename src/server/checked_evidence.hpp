#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "cases/library.hpp"
#include "competency/evidence.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// Raters, each with what is wrong with the scores.
using LeftOut = std::vector<std::pair<RaterId, Error>>;

/// What may decide about each of these raters (`store::checked_scores`: practice never does) beside the keys,
/// with what was due for them by the sets they sat at, unless the options say what was. A rater whose scores
/// are of another instrument, or at fault, is left out (`left_out`): the others are reported. Cases that a
/// rater knew before are left out of that rater's and named (`Evidence::met_before`). Nothing: nobody has any
/// other.
/// Errors: invalid  their scores do not fit into one table
Result<std::optional<competency::Evidence>> checked_evidence(
    store::Store& store, const cases::Library& library, const std::vector<RaterId>& raters,
    const competency::StandardInForce& standard, base::Time now,
    const competency::EvidenceOptions& options = {}, LeftOut* left_out = nullptr);

}  // namespace evenhand::server
