#pragma once

#include <cstddef>
#include <iosfwd>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "agreement/agreement.hpp"
#include "agreement/statistics.hpp"
#include "report/over_time.hpp"
#include "report/severity_json.hpp"

namespace evenhand::report {

/// What the agreement core does not know about the scores it was given.
struct ScoresInput {
  std::string round;                                          ///< empty where the scores have no rounds
  std::vector<std::pair<std::string, std::size_t>> statuses;  ///< word and count, those that occur
  std::string fingerprint;                                    ///< of the scores, whatever their row order
};

/// One round of scores, ready to be computed as it is written down.
struct AgreementRound {
  agreement::Agreement agreement;
  std::vector<std::string> raters;  ///< names by place, as in ScoreMatrix::raters
  ScoresInput input;
  std::optional<SeverityOfRound> severity = {};  ///< absent: not asked for
  std::optional<RoundRepeats> repeats = {};      ///< absent: not asked for
};

/// Writes one round's result as JSON (RFC 8259), keys in a fixed order, to be read back to the
/// same doubles. Measure after measure: a result of a hundred thousand pairs is never held whole.
///
/// only     the statistics asked for; the keys of others are left out
/// threads  share the work of writing pairs down
///
/// A statistic without a value is {"estimate": null, "undefined": "why", ...}; a number inside a
/// statistic without a value is null with "<name>_undefined" beside it; a limit outside the
/// statistic's range has "outside_range": true beside it.
void write_agreement_json(std::ostream& out, const AgreementRound& round, agreement::StatisticSet only,
                          std::size_t threads = 1);

/// The same numbers of all rounds, and what changed between them, as one flat table (CSV, RFC 4180): a row a
/// number, with the columns `round,measure,raters,statistic,value,undefined`; `statistic` is the path in the
/// JSON, such as `icc.ICC(2,1).lower` or `kappa.linear.estimate`.
void write_agreement_csv(std::ostream& out, std::span<const AgreementRound> rounds,
                         std::span<const RoundStep> steps, agreement::StatisticSet only);

}  // namespace evenhand::report
