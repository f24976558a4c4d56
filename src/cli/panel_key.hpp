#pragma once

#include <string>
#include <vector>

#include "cases/case.hpp"
#include "cases/panel.hpp"
#include "instrument/instrument.hpp"
#include "scores/score_table.hpp"

namespace evenhand::cli {

/// What each rater of a table gave for one case, parallel to the instrument's items; whoever scored nothing
/// of it is no member, nor is the rater `key`. Of several scores of one item the first that a rater gave
/// counts.
std::vector<cases::PanelReading> panel_readings(const scores::ScoreTable& table, const cases::Case& the_case,
                                                const instrument::Instrument& instrument);

/// Item by item what the members gave and what that makes of the key; how well they agree.
std::string panel_text(const cases::Case& the_case, const instrument::Instrument& instrument,
                       const cases::PanelKey& panel);

}  // namespace evenhand::cli
