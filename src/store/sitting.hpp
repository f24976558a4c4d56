#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/id.hpp"
#include "base/random.hpp"
#include "base/time.hpp"
#include "scores/score.hpp"

namespace evenhand::store {

/// When a rater is shown the reason for a key.
enum class Mode : std::uint8_t {
  practice,      ///< after each item, which then locks
  skills_check,  ///< at the end
  calibration,   ///< when the round closes
};

/// The word in files: `practice`, `skills-check`, `calibration`.
std::string_view word(Mode mode);

/// One rater at one set. What it was made under never changes; it is begun, and once finished.
struct Sitting {
  SittingId id;  ///< see `new_sitting_id`
  RaterId rater;
  SetId set;
  Mode mode = Mode::practice;
  RoundId round;                       ///< empty: no round
  std::string instrument_fingerprint;  ///< empty: not known
  std::string rulings_fingerprint;     ///< empty: no rulings of the department's own
  std::string program_version;
  std::uint64_t seed = 0;  ///< of the order in which cases come
  base::Time begun;
  std::optional<base::Time> finished{};

  friend bool operator==(const Sitting&, const Sitting&) = default;
};

/// What a reading was taken from.
enum class Form : std::uint8_t {
  live,       ///< the performance as it ran; readings of earlier programs are all of this form
  described,  ///< a description that gives the times: it says nothing about how well the rater times
};

/// The word in files: `live`, `described`.
std::string_view word(Form form);

/// What the rater's stopwatch showed for one trial.
struct Reading {
  std::uint32_t trial = 1;  ///< from 1
  double seconds = 0.0;     ///< finite, at least 0
  Form form = Form::live;
  std::optional<double>
      start{};  ///< seconds of the playback at which the watch was started; absent: not known
  std::optional<double> stop{};  ///< the same of its end; not before the start
  bool sound = true;             ///< false: the device kept time too badly for the reading to be judged

  friend bool operator==(const Reading&, const Reading&) = default;
};

/// What a rater made of one item of one case. An answer is never changed: a second thought is the next
/// revision, and the latest is in force.
struct Answer {
  CaseId scored_case;
  ItemId item;
  std::string case_fingerprint;        ///< of the case as it was shown
  std::uint32_t revision = 1;          ///< 1, 2, 3, ... without a gap
  std::optional<std::uint32_t> trial;  ///< the one that counts, from 1
  scores::Status status = scores::Status::observed;
  std::optional<std::string> value;        ///< the category, when the status carries one
  std::vector<scores::Note> observations;  ///< what was seen, under the instrument's names
  std::vector<Reading> stopwatch;          ///< at most one a trial
  std::optional<double> sureness;          ///< 0 (a guess) to 1 (certain); absent: not said
  base::Time at;

  friend bool operator==(const Answer&, const Answer&) = default;
};

/// Whether a reading tells how well the rater runs a stopwatch.
constexpr bool judges_the_watch(const Reading& reading) {
  return reading.form == Form::live && reading.sound;
}

/// See `new_uuid`.
SittingId new_sitting_id(base::Time at, base::Random& random);

}  // namespace evenhand::store
