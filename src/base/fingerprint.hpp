#pragma once

#include <string>
#include <string_view>

namespace evenhand::base {

/// SHA-256 of the bytes (FIPS 180-4), as 64 lower-case hexadecimal digits.
std::string fingerprint(std::string_view bytes);

}  // namespace evenhand::base
