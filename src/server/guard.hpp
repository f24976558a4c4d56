#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "server/http.hpp"

namespace evenhand::server {

/// How browsers reach the site.
struct Reach {
  bool tls = false;               ///< here or at a proxy in front
  std::string origin{};           ///< "https://practice.example.edu"; empty: whatever host a request names
  bool this_machine_only = true;  ///< the host must be a name of this machine
  std::vector<std::string> proxies{};  ///< behind a proxy: whose X-Forwarded-For is believed, and who alone
                                       ///< is answered
};

/// An origin as browsers write it (RFC 6454, section 6.1): "https://practice.example.edu". A slash behind it
/// goes, as do capitals and the scheme's own port.
/// Errors: invalid  anything but http or https, a host, and perhaps a port
Result<std::string> read_origin(std::string_view typed);

/// Behind a proxy, refuses whoever comes past it: what is said there is neither encrypted nor counted for the
/// right address. `request.peer` is still the other end of the connection. Nothing: go on.
std::optional<Response> refuse_past_proxy(const Request& request, const Reach& reach);

/// Refuses what no page of this site asked for: a write that another site began or that is no JSON, a request
/// for a host that this is not. Nothing: go on.
std::optional<Response> refuse_foreign(const Request& request, const Reach& reach);

/// The address of the browser: the last that a believed proxy saw, else the other end of the connection.
std::string browser_of(const Request& request, const Reach& reach);

/// What every answer carries; a `no-store` unless the answer says how it may be kept.
void add_headers(Response& response, const Reach& reach);

}  // namespace evenhand::server
