#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/id.hpp"
#include "document/fault.hpp"

namespace evenhand::cases {

/// Something said aloud during a trial.
struct Speech {
  enum class Speaker { child, helper };
  Speaker who = Speaker::helper;
  std::string words;
};

/// A side of the child's body.
enum class Side { left, right };

/// As files write it: "left", "right".
std::string_view to_string(Side side);

/// Where the child goes, as she stands.
enum class Toward { front, back, left, right, down };

/// As files write it: "front", "back", "left", "right", "down".
std::string_view to_string(Toward toward);

/// One moment of a timeline: what begins or happens there. Words are ids of the vocabulary.
struct Moment {
  double at = 0.0;  ///< seconds from the start of the trial, in tenths
  std::vector<std::string> poses = {};
  std::vector<std::string> contacts = {};
  std::vector<std::string> helpers = {};
  std::vector<std::string> events = {};
  std::optional<Speech> says = {};
  std::string text = {};  ///< what is seen, for the described form; may be empty
  document::Location where = {};
  std::optional<Side> side = {};  ///< the foot, leg or hand it is about, for who draws it; derives nothing
  std::optional<Toward> toward = {};  ///< where balance goes, likewise
  std::optional<double> reach = {};   ///< how far the knuckles have come along the rule, in centimeters
};

/// An observed fact: a place in the instrument's observations, and the value as the
/// instrument module writes it (a number in the observation's unit, or the place of a value).
struct Fact {
  std::size_t observation = 0;
  double value = 0.0;
  document::Location where;
};

/// One trial of one item, written or as a timeline.
struct Trial {
  bool practice = false;         ///< does not count
  std::size_t way = 0;           ///< place in the item's ways; 0 for items without
  std::string written;           ///< the performance in words; empty when there is a timeline
  std::vector<Moment> timeline;  ///< in order of time; empty when it is written
  std::vector<Fact> observed;  ///< what the author states; the rest follows from the timeline or is as usual
  document::Location where;

  bool timed() const { return !timeline.empty(); }
};

/// Why an item has no level.
enum class Status { not_tested, omitted, refused, unsafe, cannot_rate };

/// As files write it: "not-tested", "cannot-rate".
std::string_view to_string(Status status);

/// What the author says the item scores.
struct StatedKey {
  enum class Kind {
    level,      ///< a level of the item
    number,     ///< the score of a measured item
    skip_rule,  ///< filled by the instrument's skip rule
    status,     ///< no score, for a reason
    none,       ///< nobody states one: of a case outside, before or where its panel does not agree
  };
  Kind kind = Kind::level;
  std::size_t level = 0;  ///< place in the item's levels
  double number = 0.0;    ///< in the unit of the measured observation
  Status status = Status::not_tested;
  std::string why = {};  ///< of a status: the reason in words
  document::Location where = {};
};

/// One item of a case. The items of a case run parallel to those of its instrument.
struct CaseItem {
  ItemId id = {};
  StatedKey key = {};
  bool borderline = false;  ///< stated: so near to a threshold that it decides about nobody
  std::vector<Trial> trials = {};
  document::Location where = {};
  bool covered = true;  ///< false: a case outside does not show this item
  bool split = false;   ///< second readers did not all give the key: it decides about nobody
};

/// How much the child's balance is affected; the mix of a library is steered by it.
enum class Share { typical, mild, moderate, marked, barely_stands };

/// As files write it: "typical", "barely-stands".
std::string_view to_string(Share share);

/// An invented child.
struct Child {
  std::string code;  ///< a made-up name; nobody's real one
  double age = 0.0;  ///< years
  std::string picture;
};

/// Who scored a case outside, and how well they agreed. Their key stands with the items.
struct Panel {
  std::size_t members = 0;  ///< who scored it without seeing each other, at least 2
  /// Leave one out: how often a member gave what all others gave alike, of how many times they did. 0 of 0:
  /// not told.
  std::size_t agreed = 0, compared = 0;
};

/// What makes a case one that lies outside: a film of the department's own, or a child who is there. Nothing
/// of it is in the program: no performance, no timeline, and so no key that follows from observations.
struct External {
  enum class Kind { film, live };
  Kind kind = Kind::film;
  std::string find;      ///< where it is kept, or where and with whom to meet, in words; never a link
  double minutes = 0.0;  ///< how long it takes
  std::string consent;   ///< who agreed to what, in words
  std::optional<Panel> panel = {};
};

/// As files write it: "film", "live".
std::string_view to_string(External::Kind kind);

/// An invented child doing every item of an instrument; or, where it is `external`, one that lies outside.
struct Case {
  CaseId id;
  InstrumentId instrument;
  Child child;
  std::string setting;
  Share share = Share::mild;
  /// Second readers who scored it without seeing the key; 0: for practice only. Of a case outside: the
  /// members of its panel.
  int reviewed_by = 0;
  std::vector<CaseItem> items;
  document::Location where;
  std::optional<External> external = {};
};

}  // namespace evenhand::cases
