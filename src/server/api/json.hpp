#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include <nlohmann/json.hpp>
#include <tl/expected.hpp>

#include "base/error.hpp"
#include "server/http.hpp"

namespace evenhand::server {

using Json = nlohmann::ordered_json;

/// A value, or the refusal to answer with instead.
template <class T>
using Reply = tl::expected<T, Response>;

/// The value, or null.
template <class T>
Json or_null(const std::optional<T>& value) {
  return value ? Json(*value) : Json(nullptr);
}
/// The text, or null when there is none.
inline Json text_or_null(std::string_view text) { return text.empty() ? Json(nullptr) : Json(text); }

Response respond(const Json& value, unsigned status = 200);

tl::unexpected<Response> refuse(unsigned status, std::string_view code, std::string_view says);
tl::unexpected<Response> refuse(const Error& error);

/// 422 that names the field of the body which is at fault: {"error": {"code": "invalid", "says", "field"}}.
tl::unexpected<Response> refuse_field(std::string_view field, std::string_view says);

/// An answer that rarely changes: with its fingerprint as ETag, and 304 without a body when the browser
/// has it already (RFC 9110, section 13.1.2).
Response respond_tagged(const Request& request, std::string text);

}  // namespace evenhand::server
