#pragma once

#include <vector>

#include "server/route.hpp"

namespace evenhand::server {

// Parts of `sitting_routes`.
std::vector<Route> answer_routes();   // answers.cpp
std::vector<Route> summary_routes();  // summary.cpp

}  // namespace evenhand::server
