#pragma once

#include <map>
#include <string>

#include "calibration/calibration.hpp"
#include "report/competency.hpp"

namespace evenhand::report {

/// Who reads a calibration report. Who may not see names gets no rater, and no number that tells of fewer
/// than five (`CalibrationOptions::least_cell`), nor one from which it could be worked out
/// (report/shown.hpp): it is left out, and that it was is said.
enum class Reader { may_see_names, may_not_see_names };

/// What only the department knows of its study, in its own words, by the name of the field.
using About = std::map<std::string, std::string>;

/// Against the scores of the round.
enum class WordsAge { before_close, after_close, after_lock };

/// When the words of a field were last written, and by whom.
struct WrittenWords {
  std::string date;  ///< ISO 8601
  std::string by{};  ///< empty: not known (at a terminal, or erased since)
  WordsAge age = WordsAge::before_close;
  std::string boundary{};  ///< day of the close or lock that `age` names
  bool changed = false;    ///< there were other words at that close or lock; of `before_close` never
};

/// What stands around the numbers of a calibration.
struct CalibrationFrame {
  Provenance from{};
  std::map<ItemId, std::string> item_names{};  ///< an item without a name is called by its id
  Reader reader = Reader::may_see_names;
  About about{};
  std::map<std::string, WrittenWords> written{};  ///< by the field of `about`; those of a file are not known
  /// Said where the scores are not those with which the round was locked; empty: they are, or it is not.
  std::string since_lock{};
};

/// The annual report of a round as JSON: every number of the value, each with its limits, a reason where it
/// has none; what the reader may not see is null with "left_out".
std::string calibration_json(const calibration::Calibration& calibration, const CalibrationFrame& frame);

/// The same in short, for a terminal: the answer first, then the evidence.
std::string calibration_text(const calibration::Calibration& calibration, const CalibrationFrame& frame);

}  // namespace evenhand::report
