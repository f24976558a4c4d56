#pragma once

#include <string>
#include <vector>

namespace evenhand::competency {

/// A fact that is taken for another. Observations and values go by id, so a habit fits any instrument
/// and does nothing where one is not observed.
struct Misread {
  std::string when{};       ///< observation that sets it off; empty: always
  std::string is{};         ///< ... when it has this value
  std::string fact;         ///< observation that is misread
  std::string taken_for{};  ///< as this value; empty: as its usual one
};

/// The rule of an item taken one level too harshly, or one level too mildly where there is none poorer.
struct HarshOn {
  std::string item;         ///< id; on another item nothing happens
  bool where_open = false;  ///< only where the criteria leave the performance open
};

/// A way of scoring that goes wrong the same way every time.
struct Habit {
  std::string id;
  std::string says;  ///< in plain words
  std::vector<Misread> misreads{};
  bool first_trial_only = false;  ///< scores the first trial that counts, whatever comes after
  bool whole_units = false;       ///< writes durations down to the nearest whole unit: 9.6 s becomes 10 s
  double wants_more =
      0.0;  ///< a number is past a threshold only when it is past by this share of the threshold
  std::vector<HarshOn> harsh_on{};
  double abstains = 0.0;  ///< chance of "cannot rate" where the criteria are open or a threshold is near
};

/// The habits that raters of children's balance are known for (trade: first instead of best trial, guarding
/// taken for help, rounding at thresholds are common practice; the others are the project's own).
std::vector<Habit> known_habits();

Habit first_trial_habit();
Habit guarding_habit();
Habit hands_habit();
Habit strict_habit();
Habit rounding_habit();
Habit abstaining_habit();

}  // namespace evenhand::competency
