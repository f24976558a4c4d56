#pragma once

#include <string>
#include <vector>

#include "competency/answer_key.hpp"
#include "competency/standard.hpp"
#include "competency/summary.hpp"

namespace evenhand::report {

// The sentences of a competency report, made once: page, paper and data say the same.

/// The look that the verdict rests on: the last one reached, else all cases so far.
const competency::Look& standing_look(const competency::Decision& decision);

/// "Ready", "Not yet", "More cases needed", "Not shown".
std::string verdict_words(const competency::Decision& decision);

/// Why, with the limit that decides and its level.
std::string verdict_reason(const competency::Decision& decision);

/// What follows from it for the rater; empty when nothing does.
std::string verdict_more(const competency::Summary& summary, const competency::AnswerKey& key);

/// What a reader must know before using the decision, most important first.
std::vector<std::string> notices(const competency::Summary& summary, const competency::Standard& standard);

/// How many scores come from trials in their described form, and how they stand; empty: none does.
std::string described_words(const competency::DescribedCount& described);

/// "81 % to 95 %".
std::string limits_words(const competency::Limit& limit);

/// "1 Sit to stand" for a numbered item, else its name.
std::string item_words(const competency::KeyedItem& item);

/// Total bias against its margin, in words.
std::string bias_words(const competency::TotalBias& bias);

/// What the learning curve shows, or why there is none.
std::string learning_words(const competency::Course& course);

/// The error of the stopwatch, or why nothing can be said of it.
std::string watch_words(const competency::WatchErrors& watch);

/// What the control chart shows, or why there is none; and how it is made.
std::string control_words(const competency::ControlChart& chart);
std::string control_caption(const competency::ControlChart& chart);

/// How many scores equal the key, lie above and below it.
std::string off_words(const std::vector<competency::OffCount>& off);

/// The kind of a slip, and what helps against it.
std::string slip_words(competency::Slip slip);
std::string slip_cure(competency::Slip slip);

/// "16 cases, 112 scores; 100 count (8 have a gray key, 4 a key too near a limit)".
std::string scored_words(const competency::Summary& summary);

/// Scores that do not count, one sentence a reason.
std::vector<std::string> left_out_words(const competency::Decision& decision);

}  // namespace evenhand::report
