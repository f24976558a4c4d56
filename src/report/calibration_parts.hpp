#pragma once

#include <string>
#include <utility>
#include <vector>

#include "report/calibration.hpp"
#include "report/page_parts.hpp"
#include "report/shown.hpp"

namespace evenhand::report {

// Shared by the pages and tables of a calibration.

/// How things are called on a page, for one reader.
class CalibrationView {
 public:
  CalibrationView(const calibration::Calibration& of, const CalibrationFrame& frame)
      : of_(of), frame_(frame), shown_(of, frame.reader) {}

  const Shown& shown() const { return shown_; }
  std::string item(std::size_t place) const;
  std::string round_title() const;
  std::string scored() const;
  /// The rows of where the numbers come from, and the command that makes them again.
  void set_provenance(PageData& page) const;

 private:
  const calibration::Calibration& of_;
  const CalibrationFrame& frame_;
  Shown shown_;
};

void add_row(PageData& rows, const std::vector<std::pair<std::string, std::string>>& cells);
void set_bool(PageData& page, const std::string& name, bool truth);

}  // namespace evenhand::report
