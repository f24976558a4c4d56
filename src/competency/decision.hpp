#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "competency/limit.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

/// Whether a score counts toward the decision, or why not.
enum class Decidable {
  yes,
  key_is_status,    ///< the key is no level (refused, not tested, ...)
  skip_rule,        ///< the key was filled in by the skip rule
  key_gray,         ///< the criteria leave the performance open; a ruling gave the key
  key_borderline,   ///< the key lies within the error of watch or ruler
  readers_split,    ///< second readers did not all give the key
  key_unconfirmed,  ///< too few second readers scored the case without seeing the key
  measured,         ///< the item is measured and has no levels to agree on
};

/// In words, for a sentence like "12 left out: the key is gray".
std::string_view words(Decidable decidable);

/// One score against its key. A status or a blank where the key is a level is a miss: it agrees with nothing
/// and has no difference. (Otherwise abstaining on the hard ones would pay.)
struct ScoredItem {
  ItemId item;
  bool agrees = false;
  std::optional<int> levels_off{};  ///< score - key in places of the level list, positive = score higher
  Decidable decidable = Decidable::yes;
  bool waits = false;  ///< a trial was taken in its described form, and nobody has accepted that yet
};

struct ScoredCase {
  CaseId id;
  std::vector<ScoredItem> items;
};

enum class Verdict {
  ready,       ///< shown, at a look, and no item stands out
  not_yet,     ///< at a look, clearly below what is acceptable
  more_cases,  ///< neither so far, and a look is still to come
  not_shown,   ///< neither after the last look: practice, then a new set
  waits,       ///< it would be ready, but some of the scores behind it wait to be accepted
};

/// How one item did over the cases of a look.
struct ItemShowing {
  ItemId item;
  std::size_t shown = 0;
  std::size_t missed = 0;
  bool stands_out = false;  ///< missed on the standard's share of its showings, or more

  friend bool operator==(const ItemShowing&, const ItemShowing&) = default;
};

struct Look {
  Limit limit;
  std::vector<ItemShowing> items;  ///< every item shown, by id
  bool shown = false;              ///< the lower limit reaches `not_acceptable`
  bool below = false;              ///< the upper limit does not reach it

  /// Whether any item stands out.
  bool held_back() const;
  friend bool operator==(const Look&, const Look&) = default;
};

/// How many scores do not count, by reason.
struct LeftOut {
  Decidable why;
  std::size_t scores;

  friend bool operator==(const LeftOut&, const LeftOut&) = default;
};

struct Decision {
  Verdict verdict = Verdict::more_cases;
  /// Some of the scores behind it have keys that too few second readers confirmed: it says what would follow
  /// if they were confirmed, and decides about nobody.
  bool provisional = false;
  double not_acceptable = 0.0;
  double level = 0.0;                    ///< one-sided level of every look
  std::vector<Look> looks;               ///< those reached, up to the one that decided
  bool decided = false;                  ///< the last of `looks` decided (ready, waits, not yet)
  std::size_t waiting = 0;               ///< scores that count and wait to be accepted, over all cases
  std::size_t cases = 0;                 ///< with a decidable score
  std::optional<std::size_t> next_look;  ///< after how many cases; only when more are needed
  std::vector<LeftOut> left_out;         ///< over all cases, in the order of Decidable
  /// All cases so far, whether a look or not: a description. Only `looks` decide.
  Look so_far;
};

enum class Unconfirmed { left_out, counted_provisionally };

struct DecideOptions {
  std::size_t attempts = 1;  ///< attempts of this rater in one year, this one included; all at the same level
  Unconfirmed unconfirmed = Unconfirmed::left_out;
};

/// Decides by the standard: at each look that is reached, over the first cases in their order, ready
/// when the lower limit reaches `not_acceptable` and no item stands out, not yet when the upper limit lies
/// below it; the first look that decides ends it, whatever came later. A score that waits to be accepted
/// counts as it is, since leaving it out would pay like an abstention; but what it makes ready only waits.
///
/// cases   in the order of scoring; those without a decidable score count toward no look
/// errors  invalid  a case stands twice, or an item twice in a case (only a first scoring is unseen);
///                  the standard has no level for so many attempts, or no look
/// Permuting the items within a case changes nothing.
Result<Decision> decide(std::span<const ScoredCase> cases, const Standard& standard,
                        const DecideOptions& options = {});

}  // namespace evenhand::competency
