#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "calibration/agenda.hpp"
#include "calibration/round_data.hpp"
#include "calibration/suspect.hpp"

namespace evenhand::calibration {

// The same as in agenda.hpp and suspect.hpp, of a round that is laid out already.

Agenda agenda_of(const RoundData& data, std::span<const std::optional<KeyFacts>> facts, std::size_t most);
std::vector<SuspectKey> suspect_keys(const RoundData& data, std::span<const RaterId> ready,
                                     double not_acceptable);

}  // namespace evenhand::calibration
