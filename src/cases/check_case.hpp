#pragma once

#include "cases/case.hpp"
#include "cases/key.hpp"
#include "cases/library.hpp"
#include "document/fault.hpp"

namespace evenhand::cases {

/// Holds what an author states against what follows from the observations.
///
/// scoring  under the instrument's own rulings: stated keys are about those
/// faults   a key that differs; no key at all, because nobody ruled on what is seen; a fact that is stated
///          one way and shown another, or neither stated nor shown; facts that cannot be seen together;
///          borderline stated and not so, or so and not stated; a trial after a full score; too few
///          trials for a mean; a skip rule taken although it does not hold, or not taken although the
///          item was not tested and it does. Of a case outside nothing: a panel's key follows from no
///          observation
void check_case(const Case& the_case, const instrument::Scoring& scoring, document::Faults& faults);

/// Everything that `read_library` leaves open: what the criteria and rulings in force do together, all
/// cases by check_case, and their style.
///
/// remarks  advice on style; a library may be used with them
void check_library(const Library& library, document::Faults& faults, document::Faults& remarks);

}  // namespace evenhand::cases
