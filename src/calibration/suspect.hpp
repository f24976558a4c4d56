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

/// Keys that good raters contradict. Case-item by case-item:
///
/// judges  those of `ready` who gave a level there, when they are at least `least_judges`. Else the better
///         half of all who did: whose share equal to the key over all *other* case-items (this one left out,
///         so that nobody is chosen by the very answer that is asked about) is at or above the median of
///         those shares. A rater without another keyed score is no judge.
/// suspect when at least `least_judges` judges gave a level, and at least two thirds of them one and the same
///         level that is not the key. The bounds are the project's own.
///
/// Gray keys are looked at as well: they are the likeliest to be doubted. Skip fills are no answers. No key:
/// none is suspect. By case id and item; permuting raters or cases changes nothing.
inline constexpr std::size_t least_judges = 3;
std::vector<SuspectKey> suspect_keys(const scores::Resolved& round, std::span<const RaterId> ready = {});

}  // namespace evenhand::calibration
