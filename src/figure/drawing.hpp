#pragma once

#include <string>
#include <utility>
#include <vector>

#include "figure/state.hpp"

namespace evenhand::figure {

/// One element of a picture.
struct Element {
  std::string name;  ///< "path" or "circle"
  std::string css;   ///< its classes; src/server/web/css/figure.css says how they look
  std::vector<std::pair<std::string, std::string>> attributes;
};

/// What is drawn of a state, back to front: the same list that drawing() of figure.js makes.
std::vector<Element> drawing(const State& state, const Poses& poses, std::string_view view);

}  // namespace evenhand::figure
