#pragma once

#include <string>
#include <vector>

#include "instrument/reading.hpp"

namespace evenhand::instrument {

/// Why the item scores what it scores, in sentences for a clinician:
/// which trial counted, what was seen that matters, which criterion that is, whose ruling it took, and
/// what was missing for the next better level and by how much. Without a score: why there is none.
std::vector<std::string> reason(const Scoring& scoring, std::size_t item, const ItemReading& reading);

/// Two of these sentences by themselves; empty when there is nothing to say: what was missing for the next
/// better level, and that watch or ruler could have made it another one.
std::string next_words(const Scoring& scoring, std::size_t item, const ItemReading& reading);
std::string borderline_words(const Scoring& scoring, std::size_t item, const ItemReading& reading);

/// The same as one paragraph.
std::string reason_text(const Scoring& scoring, std::size_t item, const ItemReading& reading);

/// What was seen in a trial: its numbers, and the facts that are not as usual. Facts that no condition
/// looks at are left out.
std::vector<std::string> seen_words(const Scoring& scoring, std::size_t item,
                                    const std::vector<double>& values);

/// The same as a sentence; where everything was as usual, what that is: "Seen: all as usual: no hand touches
/// the child; ...". Empty when no condition looks at anything.
std::string seen_sentence(const Scoring& scoring, std::size_t item, const std::vector<double>& values);

/// "held 30 s or more (short by 11.6 s)", "no near-loss of balance (seen: goes once and catches herself)".
std::string lack_words(const Instrument& instrument, const Lack& lack);

/// Whose ruling it is: "the project's own default", "the department's ruling", ...
std::string tier_words(Tier tier);

}  // namespace evenhand::instrument
