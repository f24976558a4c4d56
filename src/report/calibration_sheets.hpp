#pragma once

#include <vector>

#include "report/shown.hpp"
#include "report/xlsx.hpp"

namespace evenhand::report {

// Sheets of the workbook of a calibration.

/// What to discuss, the gray zones, suspect keys and changed keys; a sheet without a row is left out.
std::vector<Sheet> agenda_sheets(const calibration::Calibration& calibration, const Shown& shown);
/// The thirds of the scale, and differences by total of the key; a sheet without a row is left out.
std::vector<Sheet> totals_sheets(const calibration::Calibration& calibration, const Shown& shown);
/// Mean error by rater and item. Only for who may see names.
Sheet errors_sheet(const calibration::Calibration& calibration);
Sheet grras_sheet(const CalibrationFrame& frame);
Sheet methods_sheet(const calibration::Calibration& calibration);

}  // namespace evenhand::report
