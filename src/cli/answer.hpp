#pragma once

#include <vector>

#include "instrument/instrument.hpp"
#include "practice/slip.hpp"
#include "scores/score.hpp"

namespace evenhand::cli {

/// What a rater wrote down, as slips are told from it: notes by the instrument's names; what is none of the
/// item's observations, or does not read as one, is left out.
practice::Answer answer_of(const instrument::Instrument& instrument, const instrument::Item& item,
                           std::optional<std::size_t> level, const std::vector<scores::Note>& notes);

}  // namespace evenhand::cli
