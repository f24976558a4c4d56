#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "instrument/condition.hpp"
#include "instrument/derive.hpp"
#include "instrument/observation.hpp"

namespace evenhand::instrument {

/// A step of an item's scale.
struct Level {
  std::string label;  ///< text; its rank is its place in the list
  std::string says;   ///< the criterion in plain words
  Region when;        ///< claimed when any clause holds
  document::Location at;
};

/// Whose word a ruling is. Earlier tiers are asked first.
enum class Tier { department, item, general, fallback };

/// Facts changed to look up another performance.
struct Replacement {
  std::size_t observation = 0;
  double value = 0.0;
};

/// An answer to situations that the criteria leave open or settle twice.
struct Ruling {
  std::string id;
  Tier tier = Tier::item;
  std::string situation;
  Region when;
  std::optional<std::string> level;      ///< the label it gives; or else:
  std::vector<Replacement> as_if;        ///< ... the level of the same performance with these facts changed,
  std::size_t less = 0;                  ///< ... less so many levels,
  std::optional<std::string> not_below;  ///< ... but not below this one
  bool settled = false;                  ///< the words settle it already: listed because people ask
  std::string item, date, who, why;      ///< of a department's ruling
  document::Location at;
};

/// How a situation is written down; no level of its own.
struct Record {
  std::string id, situation, written_as;
};

enum class Counts { best, worst, first, last, mean };

/// A trial that is left out of the mean, at a price.
struct Spoilt {
  Region when;
  std::size_t at_most = 1;  ///< with more of them none is left out
  std::size_t less = 1;     ///< levels for each one left out
};

struct TrialRule {
  std::size_t practice = 0;            ///< practice trials before, which do not count
  std::size_t count = 1;               ///< trials that may count, for each way
  Counts counts = Counts::best;        ///< best and worst by level, not by number
  std::optional<std::size_t> stop_at;  ///< place of the level after which no more trial is needed
  std::optional<Spoilt> spoilt;        ///< with the mean only
  std::vector<std::string> ways;       ///< each has its own trials
  Counts ways_count = Counts::worst;   ///< best or worst
};

/// An item whose score is the number itself.
struct Measured {
  std::size_t observation = 0;
  Better better = Better::more;
};

/// How sure the criteria are.
struct Confirmed {
  std::string how;  ///< published, common-practice or from-memory
  std::string note;
};

struct Item {
  std::string id, name, task;
  Confirmed confirmed;
  std::vector<std::size_t> observe;  ///< places in the instrument's observations
  TrialRule trials;
  std::vector<Level> levels;  ///< highest score first; empty when measured
  std::optional<Measured> measured;
  bool high_is_better = true;  ///< copied from the instrument
  Region impossible;
  std::vector<Ruling> rulings;
  std::vector<Record> records;
  std::vector<Derivation> derive;
  document::Location at;
};

/// The error of watch and ruler around a threshold, in the first unit of its kind (s, cm, deg).
struct ErrorBand {
  double below = 0.0, above = 0.0;
};

enum class OpenRule { unruled, floor };
enum class SeveralRule { unruled, lowest };

struct Fallback {
  OpenRule open = OpenRule::unruled;
  SeveralRule several = SeveralRule::unruled;
};

/// An item at one of these levels fills another without testing it. Places of items and levels.
struct SkipRule {
  std::size_t item = 0;
  std::vector<std::size_t> levels;
  std::size_t fills = 0;
  std::size_t with = 0;
};

struct Instrument {
  std::string id, title;
  long version = 1;
  bool high_is_better = true;
  std::string source, rights;
  std::vector<std::string> safety;
  std::optional<double> total_maximum;  ///< nothing: no total
  ErrorBand duration_error, length_error, angle_error;
  std::vector<Observation> observations;
  std::vector<Ruling> general;
  std::vector<Record> records;  ///< general ones: how things are written down in every item
  Fallback fallback;
  std::vector<SkipRule> skips;
  std::vector<Item> items;
  document::Location at;
};

/// A department's answers, in force together.
struct RulingFile {
  std::string id, instrument;
  std::vector<Ruling> rulings;
  document::Location at;
};

std::optional<std::size_t> item_named(const Instrument& instrument, std::string_view id);
std::optional<std::size_t> level_named(const Item& item, std::string_view label);
std::optional<std::size_t> observation_named(const Instrument& instrument, std::string_view id);
/// The place of an observation among those of the item.
std::optional<std::size_t> axis_of(const Item& item, std::size_t observation);

/// The merit of a level: 0 is the poorest performance. The level of a merit. Each undoes the other.
std::size_t merit(const Item& item, std::size_t level);
std::size_t level_of_merit(const Item& item, std::size_t merit);

/// The error band of an observation in its own unit; 0 and 0 for counts and facts.
ErrorBand error_band(const Instrument& instrument, const Observation& observation);

}  // namespace evenhand::instrument
