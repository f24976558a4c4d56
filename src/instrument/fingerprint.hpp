#pragma once

#include <span>
#include <string>

#include "instrument/instrument.hpp"

namespace evenhand::instrument {

/// Everything that decides a score, one fact a line, in the order of the files: observations, conditions,
/// rulings, trial and skip rules, errors of watch and ruler. Words that are only shown, sources and line
/// numbers are left out, so that mending a sentence changes no fingerprint.
std::string canonical_text(const Instrument& instrument, std::span<const RulingFile> departments);

/// SHA-256 of the canonical text: stored results keep it.
std::string fingerprint(const Instrument& instrument, std::span<const RulingFile> departments);

}  // namespace evenhand::instrument
