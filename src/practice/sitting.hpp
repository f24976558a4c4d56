#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/id.hpp"
#include "cases/case_set.hpp"
#include "practice/slip.hpp"

namespace evenhand::practice {

/// How long after the last moment of a timed trial a press still counts: people react.
inline constexpr double late_press_seconds = 1.5;

/// One item of one case, to be scored next.
struct Step {
  CaseId case_id;
  ItemId item;
  std::size_t case_number = 1, cases = 1;  ///< "case 2 of 5"
  std::size_t item_number = 1, items = 1;  ///< "item 7 of 14", within the case

  friend bool operator==(const Step&, const Step&) = default;
};

/// What has to be scored, case after case, items in the order of the set.
///
/// seed  shuffles the cases; 0 leaves them in the order of the set
std::vector<Step> steps_of(const cases::CaseSet& set, std::uint64_t seed = 0);

/// The first step that has no answer yet; nothing when all have.
std::optional<std::size_t> next_step(std::span<const Step> steps, const std::vector<bool>& answered);

/// One answered item beside its key.
struct Scored {
  ItemId item{};
  std::optional<int>
      levels_off{};        ///< merit of the score minus merit of the key; nothing: no level beside a level
  bool abstained = false;  ///< no level where the key is one
  /// The key is no level that was seen (refused, not tested, the skip rule, ...): whether the answer said the
  /// same. Nothing: the key is a level.
  std::optional<bool> same_status{};
  bool no_key = false;        ///< nobody knows what it should be: neither right nor wrong
  bool across_limit = false;  ///< off the key by a limit so near that watch or ruler may tell either way
  std::vector<Slip> slips{};
  std::vector<double> watch_errors{};  ///< of each reading: seconds, reading minus true
  std::optional<double> sureness{};    ///< 0 to 1
  std::size_t described = 0;  ///< readings in the described form, with times given: no timing of the rater's
  std::size_t coarse = 0;     ///< readings of a clock too coarse to tell
};

struct ItemToWorkOn {
  ItemId item;
  std::size_t missed = 0;
};

/// A sitting in numbers.
struct SittingSummary {
  std::size_t scored = 0;  ///< items whose key is a level, abstentions included
  std::size_t right = 0;
  std::size_t abstained = 0;
  std::size_t across_limit = 0;  ///< of those that are not right
  std::size_t unscored = 0;      ///< items whose key is no level that was seen
  std::size_t unscored_right = 0;
  std::size_t no_key = 0;                      ///< items without any key: in none of the counts above
  std::optional<double> mean_error;            ///< levels
  std::optional<double> watch_mean, watch_sd;  ///< seconds; SD from two readings on
  std::size_t watch_readings = 0;
  std::size_t described = 0, coarse = 0;            ///< readings that stay out of the figures
  std::vector<ItemToWorkOn> work_on;                ///< missed most first, then in order of first appearance
  std::vector<std::pair<Slip, std::size_t>> slips;  ///< in the order of the kinds
  std::optional<double> sure_when_right, sure_when_wrong;  ///< mean sureness
};

SittingSummary summarize(std::span<const Scored> items);

}  // namespace evenhand::practice
