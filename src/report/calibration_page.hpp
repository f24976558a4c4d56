#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "report/calibration.hpp"
#include "report/xlsx.hpp"

namespace evenhand::report {

/// Reads a file of `format: evenhand/about-1`: a mapping of the fields that `grras_points` names. A field
/// that is left out, or empty, stays visibly empty in the report. Errors: invalid  no YAML, another format, a
/// field that is not known (offering the nearest), no text
Result<About> read_about(std::string_view text, std::string_view name);

/// One point of the guideline for reporting studies of reliability and agreement, in our own words.
///
/// Kottner J, Audige L, Brorson S, et al. (2011). Guidelines for Reporting Reliability and Agreement Studies
/// (GRRAS) were proposed. Journal of Clinical Epidemiology 64:96-106. Points paraphrased; checked against
/// reprints of its table.
struct GrrasPoint {
  int number;
  std::string_view asks;
  std::string_view answered;  ///< where in the report, or how; empty: only the author can say
  std::string_view anchor;    ///< of the section that answers; may be empty
  std::string_view field;     ///< of About: what the author adds; empty: nothing is missing
};
std::vector<GrrasPoint> grras_points();

/// When the words of a field were written, against the scores of the round, and by whom where the reader may
/// see names: "Written 2026-09-01 by otto, before the round closed (2026-09-02)." Of an empty field only that
/// it was emptied when scores were there already. Empty: not known, or nothing to say.
std::string written_words(const CalibrationFrame& frame, std::string_view field);

/// The annual report of a round: one file of HTML, the answer on its first page, then the evidence, and where
/// each point of GRRAS is answered.
std::string calibration_html(const calibration::Calibration& calibration, const CalibrationFrame& frame);

/// What to take into the meeting: the case-items with the largest spread, who gave what, the criteria that
/// meet there, and room to write a ruling down.
std::string agenda_html(const calibration::Calibration& calibration, const CalibrationFrame& frame);

/// The tables behind both. Who may not see names gets none that is by rater.
Workbook calibration_tables(const calibration::Calibration& calibration, const CalibrationFrame& frame);

}  // namespace evenhand::report
