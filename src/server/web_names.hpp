#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::server {

/// Replaces the relative names of other files in a module or a style (what `name` ends with says which) by
/// what `address_of` gives for them; see Assets for where names are looked for. name   Of the file itself,
/// below the folder of all: "js/sitting.js". Errors: those of `address_of`; invalid  a name leads out of the
/// folder
Result<std::string> with_addresses(std::string_view name, std::string_view text,
                                   const std::function<Result<std::string>(const std::string&)>& address_of);

}  // namespace evenhand::server
