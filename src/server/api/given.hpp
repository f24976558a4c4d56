#pragma once

#include "practice/answer.hpp"
#include "store/sitting.hpp"

namespace evenhand::server {

/// What was stored, as its reason is told from it.
practice::Given given_of(const store::Answer& stored);

}  // namespace evenhand::server
