#pragma once

#include <cstdint>
#include <vector>

#include "cases/case.hpp"
#include "instrument/classify.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/sitting.hpp"

namespace evenhand::server {

/// The trials whose description the rater had, by the body of a request: numbers of played trials that may
/// count, ascending. Of a case outside there is none. Refused with 422 and the field's name.
Reply<std::vector<std::uint32_t>> read_described(const Request& request, std::size_t item,
                                                 const cases::Case& of);

/// The answer in the body of a request, to the item of that place of a case. Case, item and
/// revision are left to the caller. Everything is held against what can be: the score against the item's
/// levels, what was seen against what the item observes (and against what can be seen together), trials
/// against those there are (of a case outside: that there may have been). Refused with 422 and the field's
/// name.
///
/// begun, now  the time of an answer lies between these, whatever the device's clock says
Reply<store::Answer> read_answer(const Request& request, const instrument::Scoring& scoring, std::size_t item,
                                 const cases::Case& of, base::Time begun, base::Time now);

}  // namespace evenhand::server
