#pragma once

#include <chrono>
#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/error.hpp"

namespace evenhand::server {

/// What a browser asked for, as plain values: handlers never see a socket.
struct Request {
  std::string method;                            ///< "GET", in capitals
  std::string path;                              ///< percent-decoded, begins with '/'
  std::map<std::string, std::string> query{};    ///< decoded; of a name given twice the first
  std::map<std::string, std::string> headers{};  ///< names in lower case
  std::string body{};
  std::string peer{};  ///< address of the one who asks (of the browser, behind a proxy)
  std::map<std::string, std::string> params{};  ///< what stands in the places of the route's pattern
  std::string id{};                             ///< names the request in the log and in an answer of 5xx
  std::string_view pattern = "-";               ///< of the route, for the log
  std::chrono::steady_clock::time_point came{};

  /// The header of that lower-case name; empty when there is none.
  std::string_view header(std::string_view name) const;
  /// The place of that name in the pattern. The route has it.
  const std::string& param(const std::string& name) const { return params.at(name); }
};

struct Response {
  unsigned status = 200;
  std::string type = "application/json";  ///< media type
  std::string body{};
  std::vector<std::pair<std::string, std::string>> headers{};  ///< beside those that every answer has
};

/// 200 with a body of JSON text.
Response json(std::string text, unsigned status = 200);

/// {"error": {"code": ..., "says": ...}}: a word for programs and a sentence for the person.
Response refusal(unsigned status, std::string_view code, std::string_view says);

/// The same of an error: invalid 422, not_found 404, conflict 409, undefined 422.
Response refusal(const Error& error);

}  // namespace evenhand::server
