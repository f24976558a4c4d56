#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "cases/case.hpp"
#include "cases/trial_facts.hpp"
#include "instrument/reading.hpp"
#include "instrument/total.hpp"

namespace evenhand::cases {

/// Why nothing can be read from a trial.
struct UnreadableTrial {
  std::size_t trial = 0;  ///< place in the case item's trials
  std::string why;
};

/// What one item of a case scores, as it follows from what can be seen.
struct ItemKey {
  std::vector<TrialFacts> facts;     ///< parallel to the case item's trials, practice trials included
  std::vector<std::size_t> counted;  ///< places of the trials that may count: `reading` numbers these
  instrument::ItemReading reading;   ///< of the trials that may count; empty where there is a status
  std::vector<UnreadableTrial> unreadable;

  std::optional<std::size_t> level;  ///< the key: a level of the item, ...
  std::optional<double> number;      ///< ... or a number, for a measured item, ...
  std::optional<Status> status;      ///< ... or why there is no score, as the author states it
  bool skip_rule = false;            ///< the level comes from the skip rule: no rating of its own
  std::size_t panel = 0;       ///< members of the panel that gave it; 0: it follows from what can be seen
  bool outside = false;        ///< of a case that lies outside: there is nothing here to read it from
  std::string no_key_because;  ///< in words, when there is none of these

  /// The place in the case item's trials of the one that decides; nothing when none does.
  std::optional<std::size_t> deciding_trial() const;
  bool borderline() const { return reading.borderline.has_value(); }
  /// Whether the key hangs on a ruling.
  bool gray() const { return reading.gray(); }
  /// Whether there is a key at all.
  bool exists() const { return level || number || status; }
};

/// The key of a case under given rulings.
struct CaseKey {
  CaseId id;
  std::string rulings;                     ///< fingerprint of the scoring the key follows from
  std::vector<ItemKey> items;              ///< in the order of the instrument's items
  std::optional<instrument::Total> total;  ///< of the items that have a level
};

/// Works the key out from trials and skip rules. Of a case outside it is what its panel gave alike. What the
/// author states as a key is not used, except for statuses, which no observation can tell, and for
/// `skip-rule`: without a trial it means that the item was left to the rule.
CaseKey key_of(const Case& the_case, const instrument::Scoring& scoring);

/// Why the item scores what it scores, in sentences: as the instrument reads what is seen, or, of a case
/// outside, that a panel gave it, or why there is no key.
std::vector<std::string> reason_of(const instrument::Scoring& scoring, std::size_t item, const ItemKey& key);

/// Whether a skip rule fills the item, given the levels of all items so far (nothing: no level), and
/// with which level.
std::optional<std::size_t> filled_by_skip_rule(const instrument::Instrument& instrument, std::size_t item,
                                               const std::vector<std::optional<std::size_t>>& levels);

}  // namespace evenhand::cases
