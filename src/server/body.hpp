#pragma once

#include <string>
#include <string_view>

#include <nlohmann/json.hpp>

#include "base/error.hpp"
#include "server/http.hpp"

namespace evenhand::server {

/// Objects and lists inside each other, at most: deeper is refused before it is built.
inline constexpr int deepest_body = 16;

/// Whether the body is a JSON object, or empty. Names given twice are refused: what reads the first and what
/// reads the last would see two requests. Builds nothing. The site asks this before any handler of a write.
/// Errors: invalid, saying where
Result<void> check_body(const std::string& body);

/// The JSON object in a request's body; an empty body is an empty object.
/// Errors: those of check_body
Result<nlohmann::json> read_body(const Request& request);

/// A text of the object, at most `longest` bytes.
/// Errors: invalid  missing, no text, or too long
Result<std::string> text_in(const nlohmann::json& body, std::string_view name, std::size_t longest = 200);

}  // namespace evenhand::server
