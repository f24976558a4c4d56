#pragma once

#include <string>

#include "report/calibration.hpp"
#include "report/page_parts.hpp"

namespace evenhand::report {

// Shared by the pages and tables of a calibration.

/// What a reader may see of a calibration, and how it is called.
class CalibrationView {
 public:
  CalibrationView(const calibration::Calibration& of, const CalibrationFrame& frame)
      : of_(of), frame_(frame) {}

  bool names() const { return frame_.reader == Reader::may_see_names; }
  /// Whether a group of so many raters may be shown.
  bool shown(std::size_t raters) const { return names() || calibration::may_be_shown(of_, raters); }
  /// Nothing that is by case-item may be shown.
  bool no_agenda() const { return !names() && of_.small_group; }
  std::string item(std::size_t place) const;
  std::string round_title() const;
  std::string scored() const;
  /// "0 x 3, 2 x 14"; small groups are "few" to who may not see names.
  std::string given(const calibration::AgendaPoint& point) const;
  PageData provenance() const;

 private:
  const calibration::Calibration& of_;
  const CalibrationFrame& frame_;
};

/// "+1.2 (0.4 to 2.0)".
std::string points_words(const agreement::Estimate& value, int places = 1);

}  // namespace evenhand::report
