#pragma once

#include <span>
#include <string>
#include <string_view>

#include "cases/case.hpp"
#include "figure/state.hpp"

namespace evenhand::figure {

/// A still picture as an `svg` element: for strips, print and reports. Shapes carry classes, and take their
/// looks from figure.css; `title` is read out instead of the picture.
std::string still(const State& state, const Poses& poses, std::string_view view, std::string_view title);

/// When a still picture shows a moment best: a little after it, as its words ask.
double still_time(const cases::Moment& moment, const Poses& poses);

}  // namespace evenhand::figure
