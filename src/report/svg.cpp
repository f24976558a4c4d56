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
  if (css_class == "ring") return R"( fill="#ffffff" stroke="#1f5f7a" stroke-width="1.5")";
  if (css_class == "band") return R"( fill="#eef1f3")";
  if (css_class == "bar") return R"( fill="#9fb8c4")";
  if (css_class == "curve") return R"( fill="none" stroke="#1f5f7a" stroke-width="1.5")";
  if (css_class == "h1") return R"( fill="#f6d9b8")";
  if (css_class == "h2") return R"( fill="#e39a4c")";
  if (css_class == "l1") return R"( fill="#cfe0ee")";
  if (css_class == "l2") return R"( fill="#6c9fc8")";
  if (css_class == "even") return R"( fill="#ffffff" stroke="#c9d0d6" stroke-width="0.5")";
  if (css_class == "strong") return R"( font-family="DejaVu Sans" font-size="11" font-weight="bold")";
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

void Svg::rect(double x, double y, double width, double height, std::string_view css_class) {
  body_ += fmt::format(R"(<rect class="{}"{} x="{:.2f}" y="{:.2f}" width="{:.2f}" height="{:.2f}"/>)",
                       css_class, attributes_of(css_class), x, y, width, height);
}

void Svg::polyline(const std::vector<std::pair<double, double>>& points, std::string_view css_class) {
  body_ += fmt::format(R"(<polyline class="{}"{} points=")", css_class, attributes_of(css_class));
  for (const auto& [x, y] : points) body_ += fmt::format("{:.2f},{:.2f} ", x, y);
  body_ += R"("/>)";
}

void Svg::text(double x, double y, std::string_view words, std::string_view anchor,
               std::string_view css_class) {
  body_ += fmt::format(R"(<text class="{}"{} x="{:.2f}" y="{:.2f}" text-anchor="{}">{}</text>)", css_class,
                       attributes_of(css_class), x, y, anchor, escaped(words));
}

std::string Svg::str() const { return body_ + "</svg>"; }

}  // namespace evenhand::report
