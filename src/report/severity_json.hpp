#pragma once

#include <nlohmann/json_fwd.hpp>

#include "base/error.hpp"
#include "severity/ratings.hpp"
#include "severity/severity.hpp"

namespace evenhand::report {

/// What was estimated, and the scores whose names it needs; or why there is nothing.
struct EstimatedSeverity {
  severity::Ratings ratings;
  severity::Severity result;
};
using SeverityOfRound = Result<EstimatedSeverity>;

/// Severity of raters as one JSON object, the group's shift against the key first. A number without a value
/// is {"estimate": null, "undefined": "why"}.
nlohmann::ordered_json severity_json(const SeverityOfRound& severity);

}  // namespace evenhand::report
