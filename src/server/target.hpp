#pragma once

#include <string>
#include <string_view>

#include "base/error.hpp"
#include "server/http.hpp"

namespace evenhand::server {

/// Percent-decoding of UTF-8 text; with `plus_is_space` as in a query.
/// Errors: invalid  a broken escape, no UTF-8, or a control character
Result<std::string> percent_decoded(std::string_view text, bool plus_is_space = false);

/// The opposite: all but letters, digits and "-._~" as escapes (RFC 3986, section 2.3).
std::string percent_encoded(std::string_view text);

/// Path and query of a request's target ("/learn/4?seed=7") put into a request.
/// Errors: invalid  no origin-form (RFC 9112, section 3.2.1), what percent_decoded refuses, a slash that
/// hides
///                  in an escape, "." or ".." as a segment, or more than 32 names in the query
Result<void> read_target(std::string_view target, Request& request);

/// Whether the text is UTF-8 without a control character.
bool clean_utf8(std::string_view text);

}  // namespace evenhand::server
