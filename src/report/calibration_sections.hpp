#pragma once

#include "report/calibration_parts.hpp"

namespace evenhand::report {

// The sections of a calibration report, each for its part of reports/calibration/report.html.

/// Agreement of the group, rounds and items.
void set_group_sections(PageData& page, const calibration::Calibration& of, const CalibrationView& view);
/// Rater by rater. Only for who may see names.
void set_rater_sections(PageData& page, const calibration::Calibration& of);

}  // namespace evenhand::report
