#pragma once

#include <string>

#include "cases/library.hpp"
#include "document/fault.hpp"
#include "scores/score_table.hpp"

namespace evenhand::server {

/// What no instrument of the library knows in a table of scores: cases, items, and scores that are none of
/// their item's. Each is one fault, at the first row that has it, with how many more rows do.
///
/// file      what the table was read from
/// external  the instrument of cases that are not in the library (a department's films or live children);
///           empty: such a case is a fault
/// Precondition: `external` is empty or names an instrument of the library.
document::Faults unknown_scores(const scores::ScoreTable& table, const std::string& file,
                                const cases::Library& library, const std::string& external);

}  // namespace evenhand::server
