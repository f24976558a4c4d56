#include <algorithm>

#include <fmt/core.h>

#include "report/competency_words.hpp"
#include "report/words.hpp"

namespace evenhand::report {

using namespace competency;

std::string learning_words(const Course& course) {
  std::vector<const SittingPoint*> known;
  for (const SittingPoint& one : course.sittings)
    if (one.share.estimate) known.push_back(&one);
  if (known.size() < 2)
    return known.empty() ? "No sitting has a score that counts, so there is no curve."
                         : "All cases are of one sitting: a curve takes two.";
  const auto said = [](const SittingPoint& one) {
    return percent_with_limits(one.share.estimate, one.share.lower, one.share.upper);
  };
  return fmt::format("Same score as the key: {} in the first sitting, {} in the last of {}.",
                     said(*known.front()), said(*known.back()), known.size());
}

std::string watch_words(const WatchErrors& watch) {
  const std::string without =
      watch.unknown == 0 ? std::string()
                         : fmt::format(" {} left out: the case gives no true time for {}, or not one alone.",
                                       count_of(watch.unknown, "reading is", "readings are"),
                                       watch.unknown == 1 ? "it" : "them");
  if (watch.readings == 0)
    return watch.unknown == 0 ? "No stopwatch was used." : "No reading has a true time beside it." + without;
  const double mean = *watch.mean.estimate;
  return fmt::format("{} s on average{} over {}{}: the watch shows {}.{}", signed_decimal(mean),
                     limits_in_brackets(watch.mean.lower, watch.mean.upper,
                                        [](double limit) { return signed_decimal(limit); }),
                     count_of(watch.readings, "reading", "readings"),
                     watch.sd ? fmt::format(", spread (SD) {} s", decimal(*watch.sd)) : std::string(),
                     signed_decimal(mean) == "0.00" ? "the true time"
                     : mean > 0                     ? "too much"
                                                    : "too little",
                     without);
}

std::string control_words(const ControlChart& chart) {
  if (chart.points.empty()) return "Left out: " + chart.why_not + ".";
  if (!chart.first_signal)
    return fmt::format("No signal in {}: no lasting shift away from the key shows.",
                       count_of(chart.points.size(), "case", "cases"));
  return fmt::format(
      "A signal at case {} of {} ({}): the average of the errors says that scores lie {} than the key, by "
      "more "
      "than chance makes likely.",
      *chart.first_signal + 1, chart.points.size(), chart.points[*chart.first_signal].id.text(),
      chart.upward ? "higher" : "lower");
}

std::string control_caption(const ControlChart& chart) {
  return fmt::format(
      "In the order of scoring. Small circles: error of a case, points of the total. Large: their average, "
      "in "
      "which the newest case counts {}; filled: outside the limits (outer lines). A rater who stays at the "
      "key crosses them about once in {} cases (simulated from {} of {} of the group whose scores are near "
      "enough to the key). A signal says that a shift lasts, not why: look at the cases around it together. "
      "No signal does not show that nothing changed. It decides about nobody.",
      percent(chart.weight), decimal(chart.average_run, 0), count_of(chart.usual_errors, "case", "cases"),
      count_of(chart.usual_raters, "rater", "raters"));
}

std::string off_words(const std::vector<OffCount>& off) {
  std::size_t all = 0, same = 0, above = 0, below = 0;
  for (const OffCount& one : off) {
    all += one.times;
    (one.levels == 0 ? same : one.levels > 0 ? above : below) += one.times;
  }
  return fmt::format("Of {}, {} {} the key; {} too high, {} too low.",
                     count_of(all, "score given", "scores given"), count(same),
                     same == 1 ? "equals" : "equal", count_of(above, "is", "are"), count(below));
}

}  // namespace evenhand::report
