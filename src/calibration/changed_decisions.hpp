#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "competency/answer_key.hpp"
#include "competency/decision.hpp"
#include "competency/results.hpp"
#include "scores/score_table.hpp"

namespace evenhand::calibration {

/// A key that is not what it was.
struct ChangedKey {
  CaseId case_id{};
  ItemId item{};
  std::string before{}, after{};  ///< as written; empty: there was none
  competency::Decidable decidable_before = competency::Decidable::yes;
  competency::Decidable decidable_after = competency::Decidable::yes;

  friend bool operator==(const ChangedKey&, const ChangedKey&) = default;
};

/// What differs between two answer keys, by case and item. Items are matched by id.
std::vector<ChangedKey> changed_keys(const competency::AnswerKey& before, const competency::AnswerKey& after);

struct ChangedDecision {
  RaterId rater{};
  /// Nothing: no score stood (stands) beside a key, so there was (is) no decision.
  std::optional<competency::Decision> before{}, after{};
  std::size_t scores = 0;  ///< of this rater that stand beside a changed key
};

struct DecisionChanges {
  std::vector<ChangedKey> keys;
  std::vector<ChangedDecision> changed;  ///< whose verdict is another one, or comes, or goes; by rater id
  std::size_t unchanged = 0;             ///< raters whose verdict stays
};

/// Who was, and who would be, ready when a key or ruling changes. Nothing is changed by asking. The same
/// scores are decided twice by the same standard, once against each key.
///
/// Only scores of `results.round` are decided and counted, where one is named.
///
/// table    scores; a rater named by `except` (a key that stands in the table) is nobody
/// options  as `competency::results_of` and `competency::decide` take them; one attempt: that which stands is
/// told
///          from when the scores were made (competency/attempts.hpp)
/// errors   invalid  what those two refuse
Result<DecisionChanges> decisions_that_change(
    const scores::ScoreTable& table, const competency::AnswerKey& before, const competency::AnswerKey& after,
    const competency::Standard& standard, const competency::ResultsOptions& results = {},
    const competency::DecideOptions& decide = {}, const std::optional<RaterId>& except = {});

/// The same when the standard changes: the same scores against the same key, decided once by each. `keys`
/// stays empty, and so does `ChangedDecision::scores`. How many second readers confirm a key says each
/// standard itself, whatever `results` says.
Result<DecisionChanges> decisions_that_change(
    const scores::ScoreTable& table, const competency::AnswerKey& key, const competency::Standard& before,
    const competency::Standard& after, const competency::ResultsOptions& results = {},
    const competency::DecideOptions& decide = {}, const std::optional<RaterId>& except = {});

}  // namespace evenhand::calibration
