#pragma once

#include <string>

#include "instrument/reading.hpp"

namespace evenhand::report {

/// How a score follows from what was seen, as JSON: level, reason in sentences, the decisive trial, what was
/// missing for the next level, the ruling, whether it is borderline, what was taken as usual.
std::string reading_json(const instrument::Scoring& scoring, std::size_t item,
                         const instrument::ItemReading& reading,
                         const std::vector<instrument::SeenTrial>& trials);

}  // namespace evenhand::report
