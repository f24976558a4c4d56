#pragma once

#include <string_view>

namespace evenhand::server {

/// Passwords in commonest use, in small letters, the commonest first; a comma before and after each.
std::string_view common_passphrases();

}  // namespace evenhand::server
