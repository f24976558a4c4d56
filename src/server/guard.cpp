#include "server/guard.hpp"

#include <arpa/inet.h>

#include <algorithm>
#include <array>
#include <utility>

namespace evenhand::server {
namespace {

/// "127.0.0.1:8080" -> "127.0.0.1", "[::1]:8080" -> "[::1]"
std::string_view without_port(std::string_view host) {
  if (host.starts_with('[')) return host.substr(0, host.find(']') + 1);
  return host.substr(0, host.find(':'));
}

bool is_this_machine(std::string_view host) {
  constexpr std::array names{std::string_view("localhost"), std::string_view("127.0.0.1"),
                             std::string_view("[::1]")};
  return std::find(names.begin(), names.end(), without_port(host)) != names.end();
}

std::string own_origin(const Request& request, const Reach& reach) {
  if (!reach.origin.empty()) return reach.origin;
  return (reach.tls ? "https://" : "http://") + std::string(request.header("host"));
}

bool is_json(std::string_view type) {
  type = type.substr(0, type.find(';'));
  while (type.ends_with(' ')) type.remove_suffix(1);
  return std::equal(type.begin(), type.end(), std::string_view("application/json").begin(),
                    std::string_view("application/json").end(),
                    [](char a, char b) { return (a >= 'A' && a <= 'Z' ? a - 'A' + 'a' : a) == b; });
}

bool comes_from_proxy(const Request& request, const Reach& reach) {
  return std::find(reach.proxies.begin(), reach.proxies.end(), request.peer) != reach.proxies.end();
}

/// A name, an IPv4 address, or an IPv6 one in brackets.
bool is_host(std::string_view host) {
  const bool v6 = host.starts_with('[');
  if (v6 && !host.ends_with(']')) return false;
  const auto inner = v6 ? host.substr(1, host.size() - 2) : host;
  return !inner.empty() && std::all_of(inner.begin(), inner.end(), [v6](char c) {
    const bool digit = c >= '0' && c <= '9';
    if (v6) return digit || (c >= 'a' && c <= 'f') || c == ':' || c == '.';
    return digit || (c >= 'a' && c <= 'z') || c == '-' || c == '.';
  });
}

bool is_port(std::string_view port) {
  constexpr std::size_t longest = 5;
  return !port.empty() && port.size() <= longest &&
         std::all_of(port.begin(), port.end(), [](char c) { return c >= '0' && c <= '9'; });
}

/// An address as proxies write one, without the port that some put behind it; empty: it is none.
std::string address_in(std::string_view written) {
  if (written.starts_with('['))
    written = written.substr(1, written.find(']') - 1);
  else if (std::ranges::count(written, ':') == 1)
    written = written.substr(0, written.find(':'));
  std::string address(written);
  std::array<unsigned char, sizeof(in6_addr)> bytes{};
  for (const int family : {AF_INET, AF_INET6})
    if (inet_pton(family, address.c_str(), bytes.data()) == 1) return address;
  return {};
}

Response foreign() { return refusal(403, "foreign", "This was not asked for by a page of this site."); }

}  // namespace

Result<std::string> read_origin(std::string_view typed) {
  std::string text(typed);
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  if (text.ends_with('/')) text.pop_back();
  const auto wrong = [&] {
    return fail(
        Errc::invalid,
        "{}: no origin: it is https:// (or http://), the site's name, and perhaps a port, with nothing "
        "behind: https://practice.example.edu",
        typed);
  };
  const bool secure = text.starts_with("https://");
  if (!secure && !text.starts_with("http://")) return wrong();
  const std::string_view scheme = secure ? "https://" : "http://";
  const auto authority = std::string_view(text).substr(scheme.size());
  const auto colon = authority.find(':', authority.starts_with('[') ? authority.find(']') : 0);
  const auto host = authority.substr(0, colon);
  if (!is_host(host)) return wrong();
  if (colon == std::string_view::npos) return text;
  const auto port = authority.substr(colon + 1);
  if (!is_port(port)) return wrong();
  // No browser writes it.
  if (port == (secure ? "443" : "80")) text.resize(text.size() - port.size() - 1);
  return text;
}

std::optional<Response> refuse_past_proxy(const Request& request, const Reach& reach) {
  if (reach.proxies.empty() || comes_from_proxy(request, reach)) return std::nullopt;
  return refusal(421, "past-the-proxy", "This site is reached through its proxy only.");
}

std::optional<Response> refuse_foreign(const Request& request, const Reach& reach) {
  const auto host = request.header("host");
  const bool ours = reach.origin.empty() ? (!reach.this_machine_only || is_this_machine(host))
                                         : reach.origin.ends_with("://" + std::string(host));
  if (!ours) return refusal(421, "other-host", "This site does not go by that name.");
  const auto site = request.header("sec-fetch-site");
  if (request.method == "GET") {
    // Pages may be reached by links from anywhere; what their scripts fetch may not.
    const bool data = request.path.starts_with("/api/");
    if (data && !site.empty() && site != "same-origin" && site != "none") return foreign();
    return std::nullopt;
  }
  // Browsers of before 2023 send no Sec-Fetch-Site, but all of them an Origin with a write.
  if (site.empty() ? request.header("origin") != own_origin(request, reach) : site != "same-origin")
    return foreign();
  if (!is_json(request.header("content-type")))
    return refusal(415, "not-json", "What is written here comes as application/json.");
  return std::nullopt;
}

std::string browser_of(const Request& request, const Reach& reach) {
  if (!comes_from_proxy(request, reach)) return request.peer;
  // The proxy adds what it saw at the end; what stands before it, anybody may have written.
  auto seen = request.header("x-forwarded-for");
  if (const auto comma = seen.rfind(','); comma != std::string_view::npos) seen.remove_prefix(comma + 1);
  while (seen.starts_with(' ')) seen.remove_prefix(1);
  while (seen.ends_with(' ')) seen.remove_suffix(1);
  auto address = address_in(seen);
  return address.empty() ? request.peer : address;
}

void add_headers(Response& response, const Reach& reach) {
  constexpr std::array always{
      std::pair{
          "Content-Security-Policy",
          "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
          "font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; "
          // One policy, for the address of the service worker alone (frame.js).
          "require-trusted-types-for 'script'; trusted-types evenhand"},
      std::pair{"X-Content-Type-Options", "nosniff"},
      std::pair{"Referrer-Policy", "no-referrer"},
      std::pair{"X-Frame-Options", "DENY"},
      std::pair{"Cross-Origin-Opener-Policy", "same-origin"},
      std::pair{"Cross-Origin-Embedder-Policy", "require-corp"},
      std::pair{"Cross-Origin-Resource-Policy", "same-origin"},
      std::pair{"Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()"},
  };
  for (const auto& [name, value] : always) response.headers.emplace_back(name, value);
  if (reach.tls) response.headers.emplace_back("Strict-Transport-Security", "max-age=31536000");
  const bool kept = std::any_of(response.headers.begin(), response.headers.end(),
                                [](const auto& header) { return header.first == "Cache-Control"; });
  if (!kept) response.headers.emplace_back("Cache-Control", "no-store");
}

}  // namespace evenhand::server
