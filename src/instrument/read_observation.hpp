#pragma once

#include <optional>
#include <string>

#include "document/fields.hpp"
#include "instrument/observation.hpp"

namespace evenhand::instrument {

/// One entry of an instrument's `observations`. Always gives an observation, so that conditions that name it
/// are not faults too; whether it was read without faults is for the caller to count.
Observation read_observation(const std::string& id, const document::Value& value, document::Faults& faults);

}  // namespace evenhand::instrument
