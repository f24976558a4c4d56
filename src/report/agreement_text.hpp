#pragma once

#include <string>
#include <vector>

#include "agreement/agreement.hpp"
#include "agreement/statistics.hpp"
#include "report/agreement_json.hpp"
#include "report/severity_json.hpp"

namespace evenhand::report {

/// The same result for a person at a terminal. The answer comes first, in sentences; then the evidence:
/// how the raters agree with the key and with each other, item by item and for the total, who is severe,
/// and in words what misleads and what has no value. Everything shown is in the JSON too; the JSON holds
/// more (all pairs of raters).
std::string agreement_text(const agreement::AgreementResult& result, const std::vector<std::string>& raters,
                           const ScoresInput& input, agreement::StatisticSet only, double confidence,
                           const SeverityOfRound* severity = nullptr);

/// What each coefficient shown means, and when it misleads, in plain words.
std::string agreement_explained(agreement::StatisticSet only, bool with_key);

}  // namespace evenhand::report
