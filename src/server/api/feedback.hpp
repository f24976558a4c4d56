#pragma once

#include "practice/feedback.hpp"
#include "server/api/json.hpp"

namespace evenhand::server {

/// A slip's kind as programs know it: "saw-it-wrong".
std::string_view slip_kind(practice::Slip slip);

Json feedback_json(const practice::Feedback& feedback, const instrument::Instrument& instrument);

}  // namespace evenhand::server
