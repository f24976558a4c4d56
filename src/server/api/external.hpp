#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "server/api/credentials.hpp"
#include "server/api/own_texts.hpp"

namespace evenhand::server {

inline constexpr std::string_view case_format = "evenhand/case-1";

/// The second step: tries the text once more beside the desk and puts it in force, if `confirm` is of a look
/// at the very same.
Arithmetic put_case(Visit& visit, OwnText text, std::string state, std::string why, std::string confirm);

/// The token of the look that is confirmed.
Reply<std::string> confirm_in(const Request& request);

std::vector<Route> external_adding_routes();  // api/external_adding.cpp

}  // namespace evenhand::server
