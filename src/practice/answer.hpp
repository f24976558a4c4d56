#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "instrument/instrument.hpp"
#include "practice/slip.hpp"
#include "scores/score.hpp"

namespace evenhand::practice {

/// What a rater's stopwatch showed for one trial that may count.
struct WatchReading {
  std::uint32_t trial = 1;        ///< from 1, practice trials left out
  double seconds = 0.0;           ///< as the watch shows it
  bool described = false;         ///< the trial was taken in its described form, with times given: no timing
  bool sound = true;              ///< false: the device's clock was too coarse to tell
  std::optional<double> start{};  ///< seconds of the trial at which the watch was started; nothing: not known
};

/// What a rater handed in for one item of one case, in the words of files.
struct Given {
  std::optional<std::uint32_t> trial{};  ///< the one that counted for the rater, from 1
  scores::Status status = scores::Status::observed;
  std::optional<std::string> value{};  ///< the score, where the status carries one
  std::vector<scores::Note> observations{};
  std::vector<WatchReading> stopwatch{};
  std::optional<double> sureness{};  ///< 0 to 1
};

/// What slips are told from: notes by the instrument's names; what is none of the item's observations, or
/// does not read as one, is left out.
Answer answer_of(const instrument::Instrument& instrument, const instrument::Item& item,
                 std::optional<std::size_t> level, const std::vector<scores::Note>& notes);

/// The same of all that was handed in.
Answer answer_of(const instrument::Instrument& instrument, const instrument::Item& item, const Given& given);

/// Why there is no score, for the rater who has to choose a word; empty for `observed`.
std::string_view status_meaning(scores::Status status);

}  // namespace evenhand::practice
