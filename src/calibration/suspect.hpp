#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "base/id.hpp"
#include "scores/resolve.hpp"

namespace evenhand::calibration {

/// Who was asked whether a key is right.
enum class Judges {
  ready,        ///< raters whom a decision calls ready
  better_half,  ///< the better half by agreement with the key on everything else
};

/// A key that good raters contradict with one voice: worth a second look at the case.
struct SuspectKey {
  CaseId case_id{};
  std::size_t item = 0;      ///< place in the round's items
  std::size_t key = 0;       ///< place in the round's categories
  std::size_t score = 0;     ///< level that they gave instead
  std::size_t raters = 0;    ///< judges who gave it
  std::size_t of = 0;        ///< judges who gave a level
  std::size_t all_gave = 0;  ///< of all raters, who gave it
  std::size_t all = 0;       ///< of all raters, who gave a level
  Judges judges = Judges::better_half;

  friend bool operator==(const SuspectKey&, const SuspectKey&) = default;
};

/// Fewer judges say nothing about a key.
inline constexpr std::size_t least_judges = 3;
/// Up to here judges have to be of one voice; from here on two thirds of them are enough. With three or four
/// judges two thirds come about by chance on cases that are merely hard.
inline constexpr std::size_t enough_judges = 5;

/// Who misses so large a share of the keys of an item is no judge of that item's keys: raters who read its
/// rule alike, and wrongly, are of one voice as well. The standard's screen of items.
inline constexpr double item_screen = 0.5;

/// Keys that good raters contradict. Case-item by case-item:
///
/// judges  those of `ready` who gave a level there, when they are at least `least_judges`. Else the better
///         half of all who did: whose share equal to the key over all *other* case-items (this one left out,
///         so that nobody is chosen by the very answer that is asked about) is at or above the median of
///         those shares, and at or above `not_acceptable`: who is no good judge is none for being better
///         than the rest. A rater without another keyed score is no judge, nor is one, ready or not, who
///         missed `item_screen` or more of the item's other keys. So where all keys of an item are wrong
///         none is suspect; the item stands out then.
/// suspect when at least `least_judges` judges gave a level, and one and the same level that is not the key
///         was given by at least two thirds of five judges or more, or by all of three or four. The bounds
///         are the project's own; how often they err: reports/methods/calibration-rates.md.
///
/// Gray keys are looked at as well: they are the likeliest to be doubted. Skip fills are no answers. No key:
/// none is suspect. By case id and item; permuting raters or cases changes nothing.
///
/// not_acceptable  the standard's share equal to the key that is not enough
std::vector<SuspectKey> suspect_keys(const scores::Resolved& round, std::span<const RaterId> ready = {},
                                     double not_acceptable = 0.80);

}  // namespace evenhand::calibration
