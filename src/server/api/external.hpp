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

/// The case outside that `case` of the pattern names. Errors: 404
Reply<const cases::Case*> external_in(const Request& request, const Visit& visit);

/// Whether the reader closes its panel, or opens it again: a lead, or whoever added it.
bool may_close(Visit& visit, const CaseId& id);

/// The file as it is in force, wherever the department keeps it. Errors: not_found
Result<std::string> file_of(Visit& visit, const CaseId& id);

std::vector<Route> external_adding_routes();     // api/external_adding.cpp
std::vector<Route> external_reopening_routes();  // api/external_reopening.cpp

}  // namespace evenhand::server
