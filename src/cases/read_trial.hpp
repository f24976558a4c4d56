#pragma once

#include <vector>

#include "cases/case.hpp"
#include "cases/vocabulary.hpp"
#include "document/fault.hpp"
#include "document/value.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// Reads one trial of an item; see read_case.
Trial read_trial(const document::Value& value, const instrument::Instrument& instrument,
                 const instrument::Item& item, const Vocabulary& vocabulary, document::Faults& faults);

/// Reads `observed`: a mapping of what the item observes to what was seen.
std::vector<Fact> read_facts(const document::Value& mapping, const instrument::Instrument& instrument,
                             const instrument::Item& item, document::Faults& faults);

}  // namespace evenhand::cases
