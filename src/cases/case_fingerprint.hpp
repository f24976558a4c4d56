#pragma once

#include <string>

#include "cases/case.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// Everything that a rater of the case sees and that its key follows from, one fact a line: the child,
/// the setting, and for each item the stated key and the trials with their words, moments and facts.
/// Of a case outside: what it is, where it is found, how long it takes, which items it shows and what its
/// panel gave alike; `without_panel` of it tells which version the panel scored. Left out: how many second
/// readers there were, the share, the note on consent, where things stand in the file, and how the text is
/// broken into lines.
std::string canonical_text(const Case& the_case, const instrument::Instrument& instrument);

/// SHA-256 of the canonical text: stored scores keep it, so that it can be told which version was scored.
std::string fingerprint(const Case& the_case, const instrument::Instrument& instrument);

}  // namespace evenhand::cases
