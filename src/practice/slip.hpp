#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cases/key.hpp"
#include "instrument/classify.hpp"

namespace evenhand::practice {

/// What went wrong with a score, each kind with its own cure. Several may apply to one score.
enum class Slip {
  wrong_trial,             ///< another trial counts
  saw_it_wrong,            ///< the observations differ from the true ones
  read_the_rule_wrong,     ///< the observations are right, the score does not follow
  right_for_wrong_reason,  ///< two slips that cancel: it agrees, and is a warning
  gray_zone,               ///< the criteria leave it open
};

/// What a rater made of an item.
struct Answer {
  std::optional<std::size_t> trial;         ///< which trial counted for the rater, among those that may count
  std::vector<std::optional<double>> seen;  ///< parallel to the item's `observe`; empty: nothing written down
  std::optional<std::size_t> level;         ///< nothing: no level was given
};

struct NamedSlip {
  Slip slip;
  std::string says;                            ///< for the rater: what was seen or read, and what was true
  std::vector<std::size_t> observations = {};  ///< those seen otherwise: places in the instrument's list
};

/// Readings this near to the true number count as seen right: seconds, and centimeters.
inline constexpr double seen_right_seconds = 0.6;
inline constexpr double seen_right_centimeters = 0.5;

/// How far a number may be off and still count as seen right, in the observation's unit; 0 for counts and
/// facts.
double seen_right_within(const instrument::Observation& observation);

/// Names the slips behind an answer, asked in this order: which trial, what was seen, how the rule was read,
/// and whether the criteria leave it open.
///
/// A fact that was seen otherwise is a slip when it could change the level, in what was there or in what was
/// written down; a number when it lies further off than the tolerance above. The rule was read wrong when the
/// level does not follow from what was written down. A score that agrees is right for the wrong reason when
/// another trial was meant or the level does not follow from what was written down; a mere difference in what
/// was seen, with the same level, is not. Where the rater does not say which trial counted, it is
/// the one whose level and numbers fit what was written down, else the one that does count. Empty: nothing to
/// name, or the key is no level, or no level was given.
std::vector<NamedSlip> slips_of(const instrument::Scoring& scoring, std::size_t item,
                                const cases::ItemKey& key, const Answer& answer);

/// "saw it wrong", ...
std::string words(Slip slip);

}  // namespace evenhand::practice
