#pragma once

#include <optional>
#include <string>
#include <vector>

#include "server/http.hpp"

namespace evenhand::server {

/// How browsers reach the site.
struct Reach {
  bool tls = false;               ///< here or at a proxy in front
  std::string origin{};           ///< "https://practice.example.edu"; empty: whatever host a request names
  bool this_machine_only = true;  ///< the host must be a name of this machine
  std::vector<std::string> proxies{};  ///< addresses whose X-Forwarded-For is believed
};

/// Refuses what no page of this site asked for: a write that another site began or that is no JSON, a request
/// for a host that this is not. Nothing: go on.
std::optional<Response> refuse_foreign(const Request& request, const Reach& reach);

/// The address of the browser: the last that a believed proxy saw, else the other end of the connection.
std::string browser_of(const Request& request, const Reach& reach);

/// What every answer carries; a `no-store` unless the answer says how it may be kept.
void add_headers(Response& response, const Reach& reach);

}  // namespace evenhand::server
