#pragma once

#include <string>
#include <vector>

#include "calibration/calibration.hpp"

namespace evenhand::report {

// The sentences of a calibration report, made once: page, paper, data and terminal say the same.

/// What the round comes to: one sentence each about the group, drift, items and rulings, most important
/// first.
std::vector<std::string> calibration_answer(const calibration::Calibration& calibration);

/// "On 95 of 100 of these cases two of your raters differ by at most 6.1 points of the total (5.4 to 7.0).";
/// why not, where there is no number.
std::string mdc_words(const calibration::Calibration& calibration);

/// "scores 3.9 points lower than at the last round, against the peers on the same cases (-5.1 to -2.7; p
/// after Holm 0.0004)".
std::string talk_words(const calibration::Talk& talk);

/// How each number of the report was made, a sentence each.
std::vector<std::string> calibration_methods(const calibration::Calibration& calibration);

/// "7 of 12 raters chosen for their agreement on everything else gave 2 where the key is 3".
std::string suspect_words(const calibration::SuspectKey& suspect,
                          const calibration::Calibration& calibration);

}  // namespace evenhand::report
