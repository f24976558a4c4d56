#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "cases/case.hpp"
#include "document/fault.hpp"

namespace evenhand::cases {

/// Words between blanks.
std::size_t count_words(std::string_view text);

/// The first word of the text that belongs to the criteria rather than to what is seen
/// ("safely", "independently", "minimal assistance"): it gives the level away by its tone.
/// As it stands in the text; nothing when there is none.
std::optional<std::string> criterion_word(std::string_view text);

/// The first stretch of the text that gives a time in seconds ("18 s", "twenty seconds",
/// "half a minute"): in a timed trial the watch is the rater's own. Nothing when there is none.
std::optional<std::string> time_given(std::string_view text);

/// Adds a remark for each trial that a machine can see to teach badly: a written one of fewer than 40 or
/// more than 120 words, one in the words of the criteria, a timed one whose text gives the time away (the
/// instruction before the start may). Practice trials may be as short as they like. Remarks are advice:
/// they do not make a case unfit.
void check_style(const Case& the_case, document::Faults& remarks);

}  // namespace evenhand::cases
