#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "server/route.hpp"

namespace evenhand::server {

/// The table of routes, and which of them a request is for.
class Router {
 public:
  explicit Router(std::vector<Route> routes);

  struct Found {
    const Route* route = nullptr;                 ///< nullptr: none
    std::map<std::string, std::string> params{};  ///< what stands in the places of its pattern
    std::string
        allowed{};  ///< without a route: the methods that the path knows ("GET, PUT"); empty: no such path
  };
  /// Where several patterns fit, the one whose first difference is plain text.
  Found find(std::string_view method, std::string_view path) const;

  const std::vector<Route>& routes() const { return routes_; }

 private:
  std::vector<Route> routes_;
};

}  // namespace evenhand::server
