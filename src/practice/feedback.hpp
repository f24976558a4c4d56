#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "cases/case.hpp"
#include "cases/key.hpp"
#include "instrument/classify.hpp"
#include "practice/answer.hpp"
#include "practice/sitting.hpp"
#include "practice/slip.hpp"

namespace evenhand::practice {

/// One item of a case beside its key. What it points to must outlive it.
struct KeyedItem {
  const instrument::Scoring& scoring;
  std::size_t item = 0;  ///< place in the instrument's items
  const cases::CaseItem& shown;
  const cases::ItemKey& key;
};

/// What has changed since the answer was given.
struct Since {
  bool case_changed = false;     ///< the case reads otherwise now
  bool rulings_changed = false;  ///< the criteria or rulings in force are others
};

/// The level just above, and what was missing for it.
struct StepUp {
  std::string value, says;
  std::vector<std::string> lacks;
};

/// A reading of the stopwatch beside the true time.
struct WatchBeside {
  std::uint32_t trial = 1;  ///< from 1, among the trials that may count
  double yours = 0.0, truth = 0.0;
  bool described = false, sound = true;
  double difference() const { return yours - truth; }
  /// Whether it says anything about how this rater times.
  bool counts() const { return sound && !described; }
};

/// What a watch should have measured, for a picture of both.
struct TrueStretch {
  std::size_t trial = 0;        ///< place in the case item's trials
  std::size_t observation = 0;  ///< place in the instrument's observations
  double from = 0.0, to = 0.0;  ///< seconds of the trial
};

/// The reason for a key, told to a rater beside the answer.
struct Feedback {
  std::optional<std::string> key_value;  ///< label of a level, or a measured number
  std::string key_status;                ///< "refused", "skip-rule", ...; empty: the key was seen
  std::string key_says;                  ///< the criterion, or why there is no score
  std::optional<std::string> your_value;
  scores::Status your_status = scores::Status::observed;
  bool agrees = false;
  bool keyed = true;                ///< false: there is no key, so nothing is right or wrong
  std::vector<std::string> reason;  ///< which trial, what was seen, which criterion and ruling
  std::optional<StepUp> next;       ///< nothing at the best level
  std::string next_says;            ///< the same in one sentence; may be empty
  std::string borderline;           ///< empty: the key is clear of every limit
  std::string gray;                 ///< whose ruling decides; empty: the criteria do
  /// Of a case outside: the level that the rater's own observations give, which needs no key. Nothing where
  /// they give none, or nothing was written down.
  std::optional<std::string> own_level;
  std::vector<std::string> notes;       ///< what else the rater should know
  std::vector<WatchBeside> watch;       ///< readings of trials with a true time
  std::vector<NamedSlip> slips;         ///< see slips_of
  std::optional<std::size_t> deciding;  ///< place in the case item's trials; nothing: none alone decides
  std::vector<TrueStretch> stretches;   ///< of the trials that may count
  std::optional<double> replay_from;    ///< seconds of the deciding trial; nothing: it is written
};

/// How long before the deciding moment a replay begins.
inline constexpr double replay_lead = 3.0;

/// Everything a rater learns from one answer. Whether it may be told yet is the caller's to know.
Feedback feedback_of(const KeyedItem& of, const Given& given, const Since& since = {});

/// The answer as a summary counts it. Readings of the described form, and those of a clock too coarse to
/// tell, stay out of the watch errors.
Scored scored_of(const KeyedItem& of, const Given& given);

/// The key in a word: a level's label, a measured number, a status.
std::string key_words(const KeyedItem& of);

/// The moment of a timeline from which the value of an observation no longer changes; nothing when the
/// timeline does not show it, or it stands from the beginning.
std::optional<double> settled_at(const std::vector<cases::Moment>& timeline, const instrument::Item& item,
                                 std::size_t observation);

}  // namespace evenhand::practice
