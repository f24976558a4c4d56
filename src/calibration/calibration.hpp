#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "agreement/change.hpp"
#include "agreement/disagreement.hpp"
#include "agreement/estimate.hpp"
#include "agreement/funnel.hpp"
#include "base/error.hpp"
#include "base/id.hpp"
#include "calibration/agenda.hpp"
#include "calibration/key_facts.hpp"
#include "calibration/round_order.hpp"
#include "calibration/suspect.hpp"
#include "scores/resolve.hpp"

namespace evenhand::calibration {

using agreement::Estimate;
using agreement::Reason;
using agreement::Value;

struct CalibrationOptions {
  double confidence = 0.95;              ///< two-sided, of every interval
  double error_rate = 0.05;              ///< of each list of flags as a whole (Holm over its members)
  double margin = 2.0;                   ///< points of the total that are close enough
  double not_acceptable = 0.80;          ///< share equal to the key that is not enough (the standard's)
  double abstains_often = 0.10;          ///< share of scores not given from which a rater is asked why
  std::size_t agenda = 12;               ///< points at most
  std::size_t least_cell = 5;            ///< groups of fewer raters are not shown to who may not see names
  std::vector<RaterId> ready{};          ///< raters whom a decision calls ready: they judge keys
  std::size_t threads = 1;               ///< share the work and change no digit
  RoundOrder order = RoundOrder::given;  ///< what the order of the rounds rests on: the report says so
};

// --- the group ---

/// An agreement coefficient with the name of its form.
struct Named {
  std::string_view form;  ///< "ICC(2,1), also written ICC(A,1): two-way random, ..., by REML"
  Estimate value = Estimate::undefined(agreement::not_asked);
};

/// Standard error of measurement in one third of the scale.
struct ThirdOfScale {
  double from = 0.0, to = 0.0;
  std::size_t cases = 0;
  Estimate sem = Estimate::undefined(agreement::not_asked);
};

/// How far the raters agree with each other, and with the key, over all items.
struct GroupAgreement {
  std::size_t raters = 0, cases = 0, items = 0;
  std::size_t scores = 0;         ///< given by raters
  std::size_t no_score = 0;       ///< cells without one (not tested, refused, blank, ...)
  std::size_t totals = 0;         ///< (rater, case): what ICC, SEM and MDC95 of the total rest on
  std::size_t totals_whole = 0;   ///< (rater, case) whose every item has a score
  std::size_t totals_scaled = 0;  ///< (rater, case) with a total as `calibrate` has them: severity, drift and
                                  ///< differences rest on these
  /// ICC, SEM and MDC95 are of the latter, since fewer than half of them are whole: half cases. Scaling
  /// multiplies scoring error too: what items judged independently add to SEM and MDC95 is larger than on
  /// whole cases, by up to sqrt(scale). `notes` says so.
  bool scaled = false;
  double scale = 1.0;  ///< items of the round / items of a case, mean over the cases
  Named icc;           ///< of the total, a single rater
  Named icc_mean;      ///< of the total, the mean of all raters
  Estimate sem = Estimate::undefined(agreement::not_asked);  ///< of agreement, points of the total
  /// "On 95 of 100 of these cases two of your raters differ by at most this many points": 1.96 sqrt(2) SEM,
  /// limits from those of the SEM.
  Estimate mdc95 = Estimate::undefined(agreement::not_asked);
  std::vector<ThirdOfScale> sem_by_third;
  Named kappa;  ///< mean over items of linearly weighted kappa against settled keys; blanks are left out
  std::size_t kappa_items = 0;  ///< items that have one
  /// Share equal to the key: settled keys only, blanks are misses, by case. So everywhere in this report.
  Estimate exact = Estimate::undefined(agreement::not_asked);
  Estimate within_one = Estimate::undefined(agreement::not_asked);
  /// Mean signed error of all raters, points of the total: the group's shift against the key in this round.
  Estimate shift = Estimate::undefined(agreement::not_asked);
  std::vector<std::string_view> cautions;  ///< sentences
};

/// One item over all raters and cases of the round.
struct ItemAgreement {
  std::size_t item = 0;     ///< place in Calibration::items
  Named icc;                ///< of this item, a single rater
  std::size_t counted = 0;  ///< scores and blanks beside a settled key: what the screen looks at
  std::size_t missed = 0;   ///< of those; a blank is a miss
  Estimate missed_share = Estimate::undefined(agreement::not_asked);  ///< by case
  /// Missed share less the mean of the other items' on the same cases.
  Estimate excess = Estimate::undefined(agreement::not_asked);
  Value p_holm = agreement::not_asked;  ///< one-sided: missed more than the others; Holm over the items
  /// Missed more often than other items: p_holm at or below the error rate, and by `least_excess` or more.
  bool stands_out = false;
  Estimate within_one =
      Estimate::undefined(agreement::not_asked);  ///< one level off at most; as missed_share
  Estimate signed_error = Estimate::undefined(agreement::not_asked);  ///< levels, settled keys, by case
  /// Signed error less the mean of the other items' on the same cases, over keys with a level on either side:
  /// in a severe group every item is scored too low, and none is misread for that; and at the ends of the
  /// scale an error goes one way whatever it comes from.
  Estimate signed_excess = Estimate::undefined(agreement::not_asked);
  /// It stands out, and one way: the limits of `signed_excess` leave out 0. That is how a rule reads that
  /// some take for another; what is only hard to see goes both ways.
  bool misread = false;
  /// Scores given (blanks are left out) beside settled keys: mean signed error, kappas, confusion table.
  agreement::Disagreement against_key = agreement::Disagreement::undefined("no score stands beside a key");
};

/// An item has to be missed more often by so much before it stands out. The project's own bound: with .05 a
/// fifth of departments in which nothing is misread are told of an item, with .10 hardly any, and an item
/// that two in five read one level off is still found (reports/methods/calibration-rates.md).
inline constexpr double least_excess = 0.10;

/// Fewer others on a case are no peers to hold a rater against: of two raters each would be the measure of
/// the other. The project's own bound.
inline constexpr std::size_t least_peers = 3;

// --- the raters ---

enum class TalkAbout {
  drift,  ///< changed since the last round, against the peers
  /// Scores lower than the peers on the same cases by more than the margin; and lower than the key, where
  /// there is one: peers who misread an item make a sound rater look lenient.
  severe,
  lenient,        ///< ... higher
  low_agreement,  ///< the share equal to the key lies below what is acceptable
  abstains,       ///< gives no score more often than `abstains_often`
};

struct Talk {
  TalkAbout about;
  Estimate value;  ///< points, points, points, share, share (without limits)
  Value p_holm;    ///< of all but the last
};

struct RaterOfRound {
  RaterId rater{};
  std::size_t cases = 0;  ///< with at least one score
  std::size_t scores = 0;
  std::size_t abstained = 0;  ///< case-items with a keyed level, asked of this rater, without a score
  /// Share equal to the key, of settled keys only; blanks are misses; by case.
  Estimate exact = Estimate::undefined(agreement::not_asked);
  Value p_exact_holm = agreement::not_asked;  ///< one-sided: below what is acceptable; Holm over the round
  /// Mean signed error in points of the total, by case: the severity dot. Above 0: scores too high.
  Estimate against_key = Estimate::undefined(agreement::not_asked);
  /// Mean of rater minus trimmed peers on the same cases, points of the total. No key is needed. Undefined
  /// when no case has `least_peers` others.
  Estimate against_peers = Estimate::undefined(agreement::not_asked);
  Value p_peers_holm = agreement::not_asked;  ///< of against_peers, Holm over the round
  agreement::FunnelPoint funnel{};
  std::optional<agreement::RaterChange> drift{};  ///< nothing: not in the round before, or none is before
  std::vector<Talk> talk;                         ///< empty: nothing stands out
};

// --- over time ---

/// How a round hangs together with the one before.
enum class Link {
  first,         ///< there is none before
  common_cases,  ///< the same raters scored the same cases in both
  key,           ///< no case in common: only the group's error against the key can be set side by side
  none,          ///< no rater in common, or neither cases nor keys
};

/// One round on the way to the chosen one.
struct RoundPoint {
  RoundId round{};
  std::size_t raters = 0, cases = 0, scores = 0;
  /// Share equal to the key, as in GroupAgreement. The key and its facts are those handed to `calibrate`:
  /// from a library, the same for every round, whatever was in force when it was scored.
  Estimate exact = Estimate::undefined(agreement::not_asked);
  Estimate shift = Estimate::undefined(agreement::not_asked);  ///< mean signed error, points of the total
  Named icc;                                                   ///< of the total
  std::size_t common_raters = 0, common_cases = 0;             ///< with the round before
  std::size_t joined = 0, left = 0;                            ///< raters, since the round before
  Link link = Link::first;
  std::string linkage{};    ///< in words
  std::size_t flagged = 0;  ///< raters whose change from the round before was flagged
};

/// What is different from the round before; all of it on raters and cases that both have, where not said
/// otherwise.
struct SinceLast {
  RoundId before{};
  Link link = Link::none;
  std::vector<RaterId> joined, left;  ///< by id
  std::size_t common_raters = 0, common_cases = 0;
  /// Case-items of both rounds with another key than before. They are in none of `exact`, `group_shift` and
  /// `items`, where a new key would look like a change of the raters.
  std::size_t keys_left_out = 0;
  Estimate exact = Estimate::undefined(agreement::not_asked);  ///< change of the share, by case
  /// The group's own change against the key, points of the total. Raters who drift together show here only.
  Estimate group_shift = Estimate::undefined(agreement::not_asked);
  std::size_t drift_raters = 0;   ///< raters whose change was tested
  std::size_t drift_flagged = 0;  ///< of them
  /// What can be seen: the change from which a rater with the usual scatter (the median of their standard
  /// errors) is flagged, as the first of this many raters; points of the total. About half of those who
  /// changed by so much are found.
  Value least_flagged = agreement::not_asked;
  struct ItemChange {
    std::size_t item = 0;
    Estimate missed = Estimate::undefined(agreement::not_asked);  ///< change of the missed share
    Value p_holm = agreement::not_asked;                          ///< Holm over the items
    bool flagged = false;
  };
  std::vector<ItemChange> items;  ///< in the order of Calibration::items
  struct KeyChange {
    CaseId case_id{};
    std::size_t item = 0;
    std::string before{}, after{};  ///< levels; empty: none
  };
  /// Of common cases. Keys of a library are the same in every round, so only keys that stand among the
  /// scores, round by round, can differ here.
  std::vector<KeyChange> keys;
};

/// Whether who was found to have changed may be the mirror of somebody who did: up to four peers all count in
/// their mean, so that one who changed moves it for each of the others, the other way. From five peers on the
/// lowest and highest fifth are left out.
bool may_mirror(const SinceLast& since);

// --- totals and items beside the key, for pictures and their tables ---

/// Totals that lie alike: so many (rater, case) with this total of the key and this distance from it.
struct DifferenceAt {
  double key = 0.0, difference = 0.0;  ///< points; difference: rater less key
  std::size_t times = 0;
};

/// All totals beside one total of the key.
struct DifferencesAtTotal {
  double key = 0.0;
  std::size_t cases = 0, totals = 0;  ///< totals: (rater, case)
  double mean = 0.0, lowest = 0.0, highest = 0.0;
};

/// Totals of all raters less those of the key, scaled and with blanks filled as `calibrate` says.
///
/// The limits of agreement describe these raters and cases together; they are no limits of a single rater.
/// Their own limits leave out each case in turn (jackknife, t on cases - 1): scores of one case are not
/// independent. Bland JM, Altman DG (1999). Statistical Methods in Medical Research 8:135-160.
/// undefined  no key, or categories that are words: everything; fewer than two totals: sd and the limits of
///            agreement; fewer than three cases: the limits of those
struct TotalDifferences {
  std::size_t cases = 0, totals = 0;
  Estimate mean = Estimate::undefined(agreement::not_asked);   ///< t by case; the same as the group's shift
  Value sd = agreement::not_asked;                             ///< of single differences, divisor n - 1
  Estimate lower = Estimate::undefined(agreement::not_asked);  ///< mean - 1.96 SD
  Estimate upper = Estimate::undefined(agreement::not_asked);  ///< mean + 1.96 SD
  std::vector<DifferenceAt> points;                            ///< by key, then by difference
  std::vector<DifferencesAtTotal> by_total;                    ///< by key
};

/// One rater on one item: scores of settled keys, levels, score less key.
struct ErrorOnItem {
  std::size_t n = 0;
  Value mean = agreement::not_asked;  ///< undefined: no score beside a settled key
};

/// Everything that the annual report of a round needs, as numbers and ids.
struct Calibration {
  RoundId round{};
  std::vector<ItemId> items;
  std::vector<std::string> categories;  ///< lowest score first; `category` below is a place here
  bool has_key = false;
  double lowest_total = 0.0, highest_total = 0.0;  ///< of all items together
  CalibrationOptions options;
  /// Fewer raters than `least_cell`: whoever may not see names is shown nothing that is by rater, by
  /// case-item or by level.
  bool small_group = false;

  GroupAgreement group;
  std::vector<ItemAgreement> by_item;  ///< in the order of `items`
  std::vector<RaterOfRound> raters;    ///< by id
  agreement::Funnel funnel;            ///< its raters in the order of `raters`
  bool funnel_against_peers = false;   ///< else against the key
  /// Above 1: raters differ by more than chance, and the limits of the funnel are so many times as wide as
  /// for raters who do not, that is times sqrt(phi), phi the mean squared distance in standard errors, its
  /// lowest and highest tenth pulled in, where phi > 1 + 2 sqrt(2 / raters). Who lies outside then is far out
  /// even among raters who differ. Spiegelhalter DJ (2005). Statistics in Medicine 24:1185-1202 (from
  /// memory).
  double funnel_widened = 1.0;
  TotalDifferences differences;
  std::vector<std::vector<ErrorOnItem>> error_by_item;  ///< by rater (as `raters`), then by item (as `items`)
  std::vector<RoundPoint> rounds;                       ///< up to the chosen one, in order
  std::optional<SinceLast> since;                       ///< nothing: the first round
  Agenda agenda;
  std::vector<SuspectKey> suspect_keys;

  /// What a reader must know of how this was computed, in sentences: order of the rounds, keys that judge
  /// them, what totals rest on, widened limits, keys left out.
  std::vector<std::string> notes;

  /// Raters with something to talk about: drift first, then the others by distance. Places in `raters`.
  std::vector<std::size_t> talk_with;
};

/// Whether a group of so many may be shown to a reader who may not see names.
bool may_be_shown(const Calibration& calibration, std::size_t raters);

/// Sums up a round among several.
///
/// rounds   in order of time, resolved together (so that they have the same categories), the key in each
///          where there is one. Totals need categories that are numbers.
/// chosen   place of the round the report is about; later ones are not looked at
/// facts    what stands behind keys; empty: every key counts as settled
///
/// Points of the total: sum over the items of a case, skip fills included, times (items of the round / items
/// of the case), so that half cases keep to the scale of the total. An item that a rater left blank counts as
/// the mean of those who scored it; a rater who scored fewer than half of the items of a case has no total
/// there. Items of a case are those with a keyed level, or without any key those that somebody scored.
///
/// Every round is judged by the keys that it is given, and by the one set of facts: a ruling made since, or a
/// key changed in the library, judges earlier rounds as well. What was reported before stands as it was
/// filed.
///
/// Drift: agreement::change_between on the cases that both rounds have, with Holm over the raters. Nothing
/// that came before the last round enters it, nor do case-items that the criteria leave open: where a ruling
/// was made, half a department may rightly score otherwise than before, and a ruling is no drift.
///
/// errors  invalid    no round, no such place, rounds of different items or categories, nominal categories
/// cost  2,000 raters, 200 cases, 14 items: 3 s of processor time on one round, shared by the threads
/// (tests/calibration/calibration_bench.cpp). How often it errs: reports/methods/calibration-rates.md.
/// Permuting raters or cases changes nothing. Leaving out a round before the last one changes only `rounds`.
Result<Calibration> calibrate(std::span<const scores::Resolved> rounds, std::size_t chosen,
                              const KeyFactsOf& facts = {}, const CalibrationOptions& options = {});

/// The table of changes that `drift` rests on, for who wants to show cases: totals scaled as above.
/// Errors: not_found  no rater, or no case, is in both rounds
Result<agreement::LinkedRounds> link_rounds(const scores::Resolved& before, const scores::Resolved& after,
                                            const KeyFactsOf& facts = {});

}  // namespace evenhand::calibration
