#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "competency/answer_key.hpp"
#include "competency/decision.hpp"
#include "competency/standard.hpp"
#include "scores/score_table.hpp"

namespace evenhand::competency {

/// What a stopwatch showed.
struct WatchReading {
  std::uint32_t trial = 0;  ///< among the trials that may count, from 1; 0: not said
  double seconds = 0.0;
};

/// Whether a trial behind a score was taken in its described form, which gives the times, and how that
/// stands. A score carries it as the note `described-form`: `open`, `accepted` or `not-accepted`.
enum class Described {
  no,
  open,          ///< nobody has accepted it yet: it counts, and "ready" waits for it
  accepted,      ///< counts as any other
  not_accepted,  ///< counts as if nothing had been given
};

/// Of any other note, or another word: no.
Described described_of(const std::vector<scores::Note>& notes);

/// One score beside its key.
struct ItemResult {
  CaseId case_id;
  std::size_t item = 0;                ///< place in AnswerKey::items
  std::optional<std::size_t> key{};    ///< category; nothing: the key is no level
  std::optional<std::size_t> score{};  ///< category; nothing: a status or a blank
  std::string key_says{};
  std::string score_says{};  ///< the category, or the status in a word; empty: blank
  Decidable decidable = Decidable::yes;
  bool agrees = false;
  std::optional<int> levels_off{};    ///< score - key in categories: above 0 when the rater scores too high
  std::optional<double> seconds{};    ///< stopwatch, of the trial that counted for the rater
  std::vector<WatchReading> watch{};  ///< all readings, other trials' among them
  std::vector<scores::Note> notes{};  ///< what was written down
  Described described = Described::no;

  /// The key is a level and the rater gave none.
  bool abstained() const { return key && !score; }
  /// Toward the decision, at least provisionally.
  bool counts() const { return decidable == Decidable::yes || decidable == Decidable::key_unconfirmed; }
};

struct CaseResult {
  CaseId id;
  std::vector<ItemResult> items{};  ///< in the order of the instrument
  RoundId round{};
  SittingId sitting{};
  std::optional<base::Time> at{};  ///< of the first score
};

/// Everything one rater scored for the first time, in the order of scoring.
struct RaterResults {
  RaterId rater;
  std::vector<CaseResult> cases;
  std::size_t repeats = 0;      ///< scores of cases the rater had met before: they are not of unseen cases
  std::size_t without_key = 0;  ///< scores with no key to hold them against
};

/// Which items of which cases were to be scored. An item of a case that a rater began and left without a row
/// is then a blank, that is a miss where the key is a level. A table of scores keeps no row for a blank, so
/// without this blanks go unseen: give it wherever a decision hangs on the scores.
using Due = std::map<CaseId, std::vector<ItemId>>;

struct ResultsOptions {
  std::optional<RoundId> round{};  ///< only this round; absent: all rounds, one after the other
  Due due{};
  std::size_t second_readers = 0;  ///< a key with fewer is `key_unconfirmed`, unless it does not count anyway
};

/// By case that a rater of the table (by place) scored, the sitting at which it counts: see `results_of`.
/// Empty: the rows name none.
std::map<CaseId, SittingId> counting_sittings(const scores::ScoreTable& table, std::uint32_t rater);

/// What was to be scored, told from what anybody scored: every item of a case for which some rater has a row.
/// Right when all raters were given the same items; not for half cases dealt out differently.
Due due_of(const scores::ScoreTable& table);

/// Holds the scores of every rater against the keys. Raters in order of first appearance; the one named by
/// `except` (a key that stands in the table) is left out.
///
/// A case counts once a rater: the sitting (and round) with the earliest `at`, or that came first when a
/// row of the rater lacks a time; so are cases put in order. Of the rows of one item the one that carries the
/// score counts, else the last with a status. A status or a blank where the key is a level agrees with
/// nothing, and so does a score whose described form was not accepted. What the rater gave where the key is
/// no level, or was filled in by the skip rule, does not count.
///
/// errors  invalid  a score that is no category of its item, naming rater, case, item and the categories
Result<std::vector<RaterResults>> results_of(const scores::ScoreTable& table, const AnswerKey& key,
                                             const ResultsOptions& options = {},
                                             const std::optional<RaterId>& except = {});

/// What `decide` takes.
std::vector<ScoredCase> scored_cases(const RaterResults& results, const AnswerKey& key);

/// How the others did on one item of one case.
struct OthersOn {
  std::size_t raters = 0;
  std::size_t missed = 0;
};

/// How all raters did on each item of each case, decidable or not; for comparing one with the others.
class Difficulty {
 public:
  explicit Difficulty(std::span<const RaterResults> raters);
  /// Without the given result itself.
  OthersOn others(const ItemResult& result) const;

 private:
  std::map<std::pair<CaseId, std::size_t>, OthersOn> all_;
};

}  // namespace evenhand::competency
