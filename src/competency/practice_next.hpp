#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "competency/answer_key.hpp"
#include "competency/results.hpp"

namespace evenhand::competency {

/// Two levels of an item that a rater takes for one another.
struct Confusion {
  std::size_t key = 0;    ///< category of the key
  std::size_t score = 0;  ///< category that was given
  std::size_t times = 0;
};

/// An item to work on, with what to look at.
struct PracticeItem {
  std::size_t item = 0;  ///< place in AnswerKey::items
  std::size_t cost = 0;  ///< levels off summed; an abstention where the key is a level is one
  std::size_t missed = 0;
  std::size_t abstained = 0;
  std::vector<Confusion> confusions{};  ///< most frequent first
  std::vector<CaseId> cases{};          ///< whose keys stand where the confusion is
};

/// What to practice next, by a fixed rule:
///
/// 1. Items in order of what they cost the rater: the levels that scores and keys lie apart, summed, an
///    abstention counting as one level. At equal cost the item missed more often, then the one that comes
///    first in the instrument. Items that cost nothing are left out.
/// 2. Of each item, which level was taken for which, most frequent first; at equal frequency the wider one,
///    then the lower key.
/// 3. Cases for each item: those whose key is one of the two levels of the first confusion, the level
///    that was missed before the one that was given, and of these those whose key is gray or borderline
///    last; cases the rater has not met come before all others. Within all that by id. At most `most_cases`.
///    An item on which the rater only abstained takes cases of the level abstained on most often.
///
/// Only scores that count (unconfirmed keys included) are looked at.
std::vector<PracticeItem> practice_next(std::span<const CaseResult> cases, const AnswerKey& library,
                                        std::size_t most_cases = 5);

}  // namespace evenhand::competency
