#pragma once

#include <optional>
#include <string_view>

#include "cases/case.hpp"
#include "cases/vocabulary.hpp"
#include "document/fault.hpp"
#include "document/value.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// Reads a file of `format: evenhand/case-1`, written for this instrument.
///
/// id      the file's name without folder and `.yaml`: the case must have the same.
/// faults  Receives everything a case of the instrument may not have: unknown keys, ids, items, levels,
///         observations and moments (each with the nearest known one); items missing, twice or out of
///         order; moments out of order, before 0 or after 600 s; numbers outside the domain of their
///         observation or without their unit; more trials than the item's rule allows, a practice trial
///         after one that counts, a way left out. What only follows from the readings (keys, borderline)
///         is left to check_case. Of a case outside: see read_external.
/// returns Nothing when the file is too broken to be read further. What is returned has one CaseItem
///         for each item of the instrument, in order, and is fit for use only when no fault was added.
std::optional<Case> read_case(const document::Value& file, std::string_view id,
                              const instrument::Instrument& instrument, const Vocabulary& vocabulary,
                              document::Faults& faults);

/// The instrument that a case file says it is for; nothing when it says none.
std::optional<std::string_view> instrument_of(const document::Value& file);

}  // namespace evenhand::cases
