#include "server/router.hpp"

#include <algorithm>
#include <optional>
#include <utility>

namespace evenhand::server {
namespace {

std::string_view take_segment(std::string_view& rest) {
  if (rest.starts_with('/')) rest.remove_prefix(1);
  const auto slash = rest.find('/');
  const auto segment = rest.substr(0, slash);
  rest.remove_prefix(segment.size());
  return segment;
}

bool is_place(std::string_view segment) {
  return segment.size() > 2 && segment.front() == '{' && segment.back() == '}';
}

using Params = std::map<std::string, std::string>;

std::optional<Params> match(std::string_view pattern, std::string_view path) {
  Params params;
  while (!pattern.empty() && !path.empty()) {
    const auto wanted = take_segment(pattern);
    const auto given = take_segment(path);
    if (is_place(wanted)) {
      if (given.empty()) return std::nullopt;
      params.emplace(wanted.substr(1, wanted.size() - 2), given);
    } else if (wanted != given) {
      return std::nullopt;
    }
  }
  if (!pattern.empty() || !path.empty()) return std::nullopt;
  return params;
}

/// Plain text before places: '{' sorts after letters and digits.
bool plainer(const Route& a, const Route& b) { return a.pattern < b.pattern; }

}  // namespace

Router::Router(std::vector<Route> routes) : routes_(std::move(routes)) {
  std::stable_sort(routes_.begin(), routes_.end(), plainer);
}

Router::Found Router::find(std::string_view method, std::string_view path) const {
  Found found;
  for (const Route& route : routes_) {
    auto params = match(route.pattern, path);
    if (!params) continue;
    if (route.method == method) return {.route = &route, .params = std::move(*params)};
    if (found.allowed.find(route.method) != std::string::npos) continue;
    found.allowed += (found.allowed.empty() ? "" : ", ") + route.method;
  }
  return found;
}

}  // namespace evenhand::server
