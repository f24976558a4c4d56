#pragma once

#include <string>
#include <vector>

#include "agreement/agreement.hpp"
#include "agreement/statistics.hpp"
#include "report/agreement_json.hpp"

namespace evenhand::report {

/// The same result for a person at a terminal: what was scored, how the raters agree with the key
/// and with each other, item by item and for the total, and in words what has no value and why.
/// Everything shown is in the JSON too; the JSON holds more (all pairs of raters).
std::string agreement_text(const agreement::AgreementResult& result, const std::vector<std::string>& raters,
                           const ScoresInput& input, agreement::StatisticSet only, double confidence);

}  // namespace evenhand::report
