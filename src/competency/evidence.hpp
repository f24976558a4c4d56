#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "cases/library.hpp"
#include "competency/answer_key.hpp"
#include "competency/results.hpp"
#include "competency/standard.hpp"
#include "competency/summary.hpp"
#include "instrument/classify.hpp"
#include "scores/score_table.hpp"

namespace evenhand::competency {

/// A standard with the fingerprint of the text it was read from.
struct StandardInForce {
  Standard standard;
  std::string fingerprint;  ///< SHA-256 of the text

  friend bool operator==(const StandardInForce&, const StandardInForce&) = default;
};

/// name    for the locations of faults
/// errors  invalid  any fault that `read_standard` names
Result<StandardInForce> standard_in_force(std::string_view text, std::string_view name);

/// Scores of one instrument beside the keys of a library, under a standard: all that a competency report of
/// any rater among them rests on.
struct Evidence {
  const cases::Library* library = nullptr;  ///< not owned; outlives this
  std::shared_ptr<const instrument::Scoring> scoring{};
  bool department_rulings = false;  ///< a department's rulings are in force
  AnswerKey key{};
  StandardInForce standard{};
  std::string scores_fingerprint{};  ///< of the table, whatever the order of its rows
  std::vector<RaterResults> results{};
  /// By rater, cases that whoever gathered the scores left out, because the rater knew them before; raters of
  /// whom nothing else is there stand here and not among the results. Not for who holds the scores
  /// against keys to say.
  std::map<RaterId, std::vector<CaseId>> met_before{};
};

struct EvidenceOptions {
  std::optional<RoundId> round{};  ///< only this round
  std::optional<Due> due{};        ///< what was to be scored; absent: what anybody scored, see `due_of`
  RaterId key_rater{"key"};        ///< whose rows are a key and no scores
};

/// The instrument is the one that the standard is for, when any case of the table is of that; else that of
/// the first case of the table that the library knows.
/// errors  invalid    the table is empty, or a score is none of its item's (see `results_of`)
///         not_found  none of its cases is in the library
Result<Evidence> evidence_of(const scores::ScoreTable& table, const cases::Library& library,
                             StandardInForce standard, const EvidenceOptions& options = {});

/// Sums up every rater, or one. Each is compared with all of them.
/// attempts  of the rater in the year, this one included, and all scores are of this one; 0: told from when
/// the
///           scores were made, see competency/attempts.hpp
/// errors    not_found  there is no such rater; those there are are named
///           and what `summarize` refuses
Result<std::vector<Summary>> summaries_of(const Evidence& evidence, std::size_t attempts = 0,
                                          const std::optional<RaterId>& only = {});

/// Tells the slips behind a score from what the rater wrote down beside it. What it returns refers to the
/// library.
NameSlips slips_by_notes(const cases::Library& library, std::shared_ptr<const instrument::Scoring> scoring);

/// The true lengths of what stopwatches were to measure, by the timelines of the library's cases. Where a
/// reading does not say its trial it is of the only one; where several lengths follow one another in a trial
/// it is not known which. What it returns refers to the library.
TrueSeconds seconds_by_timelines(const cases::Library& library,
                                 std::shared_ptr<const instrument::Scoring> scoring);

}  // namespace evenhand::competency
