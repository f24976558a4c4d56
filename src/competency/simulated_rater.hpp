#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "competency/habit.hpp"
#include "competency/true_case.hpp"
#include "instrument/classify.hpp"
#include "scores/score.hpp"

namespace evenhand::competency {

/// Reading minus the true number: normal.
struct ReadingError {
  double mean = 0.0;
  double sd = 0.0;
};

/// An invented rater: what is true of it, so that what a report says of it can be held against that.
struct SimulatedRater {
  RaterId id;
  std::string kind{};     ///< in plain words: "sound", "severe", ...
  double severity = 0.0;  ///< chance that a score is taken one level poorer, the rule read too harshly
  double leniency = 0.0;  ///< ... one level better
  double slip = 0.02;     ///< chance a trial that one fact is taken for a neighboring one
  /// Seconds. A hold starts when the examiner says so and stops as a reaction, so the watch reads long: about
  /// .1 to .2 s, SD .1 to .15 (start and stop alike: SD .10, Faux & Godolphin 2019, Am J Phys 87:110-115; the
  /// mean is an inference from it).
  ReadingError watch{.mean = 0.12, .sd = 0.12};
  ReadingError ruler{.mean = 0.0, .sd = 0.25};      ///< centimeters
  ReadingError goniometer{.mean = 0.0, .sd = 2.0};  ///< degrees
  std::vector<Habit> habits{};
};

/// When and in which sitting the scores were given.
struct SimulatedSitting {
  SittingId sitting{};
  RoundId round{};
  base::Time start{};
  double seconds_per_item = 75.0;
};

/// Lets a rater score cases. Not label noise: the rater sees the true trials with error, applies the
/// instrument's rules to what it believes it saw, and writes that down, so its slips have kinds. Severity and
/// leniency come last and stand for a rule read too harshly or too mildly.
///
/// scores carry the level (or a status), the stopwatch reading of the trial that counts, and what was written
/// down. An item filled by the skip rule gets its score only if this rater's own score sets the rule off,
/// else it was not tested; an item without trials gets the status that the case shows.
///
/// The random source of a rater, case and item depends on the seed and their ids alone: the order of raters
/// and cases, the number of threads, and what else was to be scored change nothing.
///
/// errors  invalid  a case names an item or values that the instrument does not have
Result<std::vector<scores::Score>> simulate(const SimulatedRater& rater, std::span<const TrueCase> cases,
                                            const instrument::Scoring& scoring,
                                            const SimulatedSitting& sitting, std::uint64_t seed);

}  // namespace evenhand::competency
