#include "figure/still.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "figure/drawing.hpp"

namespace evenhand::figure {
namespace {

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '&')
      out += "&amp;";
    else if (c == '<')
      out += "&lt;";
    else if (c == '>')
      out += "&gt;";
    else if (c == '"')
      out += "&quot;";
    else
      out += c;
  }
  return out;
}

}  // namespace

std::string still(const State& state, const Poses& poses, std::string_view view, std::string_view title) {
  const auto* seen = poses.view(view);
  std::string out = fmt::format(
      R"(<svg xmlns="http://www.w3.org/2000/svg" class="fig" viewBox="0 0 {} {}" role="img"><title>{}</title>)",
      seen->width, seen->height, escaped(title));
  for (const auto& element : drawing(state, poses, view)) {
    out += fmt::format(R"(<{} class="{}")", element.name, element.css);
    for (const auto& [name, value] : element.attributes) out += fmt::format(R"( {}="{}")", name, value);
    out += "/>";
  }
  return out + "</svg>";
}

double still_time(const cases::Moment& moment, const Poses& poses) {
  double after = 0.05;
  for (const auto* words : {&moment.poses, &moment.contacts, &moment.helpers, &moment.events})
    for (const auto& word : *words) after = std::max(after, poses.still_of(word));
  return moment.at + after;
}

}  // namespace evenhand::figure
