#include "report/svg.hpp"

#include <fmt/core.h>

namespace evenhand::report {

std::string escaped(std::string_view text) {
  std::string result;
  for (const char c : text) {
    switch (c) {
      case '&':
        result += "&amp;";
        break;
      case '<':
        result += "&lt;";
        break;
      case '>':
        result += "&gt;";
        break;
      case '"':
        result += "&quot;";
        break;
      default:
        result += c;
    }
  }
  return result;
}

namespace {

/// How a class looks where no style sheet reaches (the PDF renderer takes SVG's own attributes only).
std::string_view attributes_of(std::string_view css_class) {
  if (css_class == "axis") return R"( stroke="#999999" stroke-width="1")";
  if (css_class == "mark") return R"( stroke="#000000" stroke-width="1.5" stroke-dasharray="4 3")";
  if (css_class == "span") return R"( stroke="#1f5f7a" stroke-width="4")";
  if (css_class == "dot") return R"( fill="#1f5f7a" stroke="#ffffff" stroke-width="1.5")";
  return R"( font-family="DejaVu Sans" font-size="11")";
}

}  // namespace

Svg::Svg(double width, double height, std::string_view title)
    : body_(fmt::format(R"(<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:g} {:g}" role="img">)"
                        "<title>{}</title>",
                        width, height, escaped(title))) {}

void Svg::line(double x1, double y1, double x2, double y2, std::string_view css_class) {
  body_ += fmt::format(R"(<line class="{}"{} x1="{:.2f}" y1="{:.2f}" x2="{:.2f}" y2="{:.2f}"/>)", css_class,
                       attributes_of(css_class), x1, y1, x2, y2);
}

void Svg::circle(double x, double y, double radius, std::string_view css_class) {
  body_ += fmt::format(R"(<circle class="{}"{} cx="{:.2f}" cy="{:.2f}" r="{:.2f}"/>)", css_class,
                       attributes_of(css_class), x, y, radius);
}

void Svg::text(double x, double y, std::string_view words, std::string_view anchor,
               std::string_view css_class) {
  body_ += fmt::format(R"(<text class="{}"{} x="{:.2f}" y="{:.2f}" text-anchor="{}">{}</text>)", css_class,
                       attributes_of(css_class), x, y, anchor, escaped(words));
}

std::string Svg::str() const { return body_ + "</svg>"; }

}  // namespace evenhand::report
