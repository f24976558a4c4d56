#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "agreement/disagreement.hpp"
#include "agreement/estimate.hpp"
#include "base/error.hpp"
#include "competency/answer_key.hpp"
#include "competency/attempts.hpp"
#include "competency/course.hpp"
#include "competency/decision.hpp"
#include "competency/mix.hpp"
#include "competency/practice_next.hpp"
#include "competency/results.hpp"
#include "competency/slips.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

/// How a mean error and its limits lie to a margin on both sides of 0.
enum class BiasPosition {
  unknown,  ///< no limits, or the margin is for another instrument
  inside,   ///< both limits lie within the margin
  open,     ///< the limits reach over it: neither shown
  low,      ///< scores too low: the upper limit lies below -margin
  high,     ///< scores too high: the lower limit lies above +margin
};

/// Mean signed error of a rater, in points of the total: the mean of (score - key) an item by case, times
/// the number of items with levels. Above 0: scores too high. Limits by case, t.
struct TotalBias {
  agreement::Estimate points;
  std::size_t items = 0;  ///< items the mean is multiplied by
  double margin = 0.0;
  double confidence = 0.0;
  BiasPosition position = BiasPosition::unknown;
};

/// Errors of two levels or more, among the scores that count and were given.
struct WideErrors {
  std::size_t scores = 0;
  std::size_t wide = 0;
  agreement::Value share;
  bool flagged = false;
};

struct ItemSummary {
  std::size_t item = 0;    ///< place in AnswerKey::items
  std::size_t shown = 0;   ///< scores that count, abstentions included
  std::size_t missed = 0;  ///< abstentions included
  std::size_t abstained = 0;
  bool stands_out = false;  ///< at the look that stands, or over all cases so far
  /// Over the scores given: exact and within one, mean signed error (score - key), share of all disagreement
  /// of this rater, kappas, confusion table.
  agreement::Disagreement against_key = agreement::Disagreement::undefined("no score stands beside a key");
};

/// How often a score lay so many levels from the key; above 0: too high.
struct OffCount {
  int levels = 0;
  std::size_t times = 0;
};

/// Scores that count, by how the described form of their trials stands.
struct DescribedCount {
  std::size_t open = 0;
  std::size_t accepted = 0;
  std::size_t not_accepted = 0;

  friend bool operator==(const DescribedCount&, const DescribedCount&) = default;
};

struct SlipCount {
  Slip slip;
  std::size_t times = 0;
};

/// A place among the results.
struct Place {
  std::size_t case_ = 0;  ///< in Summary::cases
  std::size_t item = 0;   ///< in the case's items
  OthersOn others{};      ///< how the others did there
};

/// Everything a competency report of one rater shows, as numbers and ids.
struct Summary {
  RaterId rater;
  Decision decision;               ///< unconfirmed keys counted provisionally
  agreement::Estimate agreement;   ///< share equal to the key; abstentions are misses
  agreement::Estimate within_one;  ///< the same for one level off at most
  TotalBias bias;
  WideErrors wide;
  std::vector<ItemSummary> items;               ///< those shown, in the order of the instrument
  agreement::Value mean_kappa;                  ///< linear weights, mean of the item kappas that have a value
  std::size_t kappa_items = 0;                  ///< how many have one
  std::vector<CaseResult> cases;                ///< every score beside its key, in the order of scoring
  std::vector<Place> worst;                     ///< the scores to talk about first
  std::optional<std::vector<SlipCount>> slips;  ///< nothing: nobody could name them
  std::vector<PracticeItem> next;
  std::vector<OffCount> off;  ///< of the scores that count and were given, lowest first; what occurs
  Course course;
  Mix mix;
  std::size_t unconfirmed_cases = 0;  ///< cases scored with fewer second readers than the standard asks for
  std::size_t scored_where_no_level = 0;  ///< a level was given where the key is a status
  std::size_t repeats = 0;
  std::size_t without_key = 0;
  DescribedCount described;
  Attempts attempts{};  ///< told from when the scores were made; empty: not asked for (`summarize_standing`)
};

struct SummarizeOptions {
  std::size_t attempts = 1;    ///< attempts of this rater in the year
  double confidence = 0.95;    ///< two-sided, of what does not decide
  bool high_is_better = true;  ///< of the instrument: which end of the scores is the best level
  std::size_t worst = 5;
  std::size_t practice_cases = 5;
  NameSlips name_slips{};      ///< absent: slips are not told apart
  TrueSeconds true_seconds{};  ///< absent: no reading has anything beside it
  UsualErrors usual{};         ///< what the control chart rests on
};

/// Sums up one rater.
///
/// results    of the rater
/// key        what they were held against; its cases are also those offered for practice
/// others     how all raters of the group did (this one among them)
///
/// Worst scores: those that count and differ from the key; an abstention lies one level off. First by the
/// size of the difference, then those that the smallest share of the other raters missed (what is hard for
/// this rater alone; nobody else scored it: 1), then in order of scoring.
///
/// errors  invalid  what `decide` refuses
Result<Summary> summarize(const RaterResults& results, const AnswerKey& key, const Standard& standard,
                          const Difficulty& others, const SummarizeOptions& options = {});

}  // namespace evenhand::competency
