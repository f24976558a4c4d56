#pragma once

#include "server/api/instructor.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"

namespace evenhand::server {

/// The rater's answers of which a trial was taken in its described form, with how each stands.
Json described_json(const RaterId& rater, Visit& visit);

/// What is arranged with the rater in the group.
Json arrangement_json(const RaterAt& at, Visit& visit);

}  // namespace evenhand::server
