#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/route.hpp"

namespace evenhand::server {

/// What pages are made from: the files of src/server/web, each by its path there ("page/home.html").
struct WebFiles {
  std::function<std::string(std::string_view name)> text;
  std::function<std::string(std::string_view name)> url;  ///< where the file is served, its hash in the name
};

/// Every page, and the service worker at /sw.js. A page is a shell: who is signed in stands in it, what that
/// person sees is fetched by its script. Pages that need an account send those without one to /sign-in, so
/// each is open to anyone as a route and looks at `Visit::who`, present for whoever has a living session.
std::vector<Route> page_routes(const WebFiles& files);

/// A page that says what went wrong, for those who asked with a browser.
Response error_page(const WebFiles& files, unsigned status, const std::optional<Who>& who = {});

}  // namespace evenhand::server
