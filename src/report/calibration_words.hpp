#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "calibration/calibration.hpp"
#include "report/shown.hpp"

namespace evenhand::report {

// The sentences of a calibration report, made once: page, paper, data and terminal say the same.

/// What the round comes to: one sentence each about the group, drift, items and rulings, most important
/// first. For a group that is too small to be shown to this reader, that it is.
std::vector<std::string> calibration_answer(const calibration::Calibration& calibration, const Shown& shown);

/// "On 95 of 100 of these cases two of your raters differ by at most 6.1 points of the total (5.4 to 7.0).";
/// why not, where there is no number.
std::string mdc_words(const calibration::Calibration& calibration);

/// "scores 3.9 points lower than at the last round, against the peers on the same cases (-5.1 to -2.7; p
/// after Holm 0.0004)".
std::string talk_words(const calibration::Talk& talk);

/// In a word or two: "changed", "scores low".
std::string_view talk_kind(calibration::TalkAbout about);

/// How each number of the report was made, a sentence each.
std::vector<std::string> calibration_methods(const calibration::Calibration& calibration);

/// "7 of 12 raters who agree best with the other keys gave 2 where the key is 3"; without the counts for who
/// may not see names.
std::string suspect_words(const calibration::SuspectKey& suspect, const calibration::Calibration& calibration,
                          const Shown& shown);

/// "0 x 3, 2 x 14"; for who may not see the counts "0, 2 (2 most often)".
std::string given_words(const ShownLevels& levels, const calibration::AgendaPoint& point,
                        const calibration::Calibration& calibration);

/// "missed more than the others, one way: looks misread"; empty: nothing.
std::string item_note(const calibration::ItemAgreement& item);

/// "Key changed: c4, item 7: 2 before, 3 now."
std::string key_change_words(const calibration::SinceLast::KeyChange& change,
                             const calibration::Calibration& calibration);

/// Why something is not there, for who may not see names.
inline constexpr const char* left_out_few = "left out: few";

// --- numbers in words ---

/// "83 % (80 to 86)".
std::string share_words(const agreement::Estimate& value);
/// "0.96 (0.91 to 0.98)"; what is not 1 is never written as 1.00, but as "> 0.99".
std::string ratio_words(const agreement::Estimate& value);
/// "+1.2 (0.4 to 2.0)".
std::string points_words(const agreement::Estimate& value, int places = 1);

}  // namespace evenhand::report
