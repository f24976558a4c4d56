#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace evenhand::report {

/// A small picture in SVG 1.1, drawn piece by piece. Lengths are in its own units; the page
/// scales it. Lines and text take their color from the page (`currentColor`), so it prints and survives
/// forced colors. A class is one of axis, mark, span, dot, ring, band, bar,
/// curve, h1, h2, l1, l2, even (shapes), small and strong (text); the style sheet says how it looks, and the
/// same stands in the element's own attributes for the PDF.
class Svg {
 public:
  /// `title` is read out instead of the picture, so it says the finding.
  Svg(double width, double height, std::string_view title);

  void line(double x1, double y1, double x2, double y2, std::string_view css_class);
  void circle(double x, double y, double radius, std::string_view css_class);
  void rect(double x, double y, double width, double height, std::string_view css_class);
  /// Points joined by straight lines.
  void polyline(const std::vector<std::pair<double, double>>& points, std::string_view css_class);
  /// anchor  "start", "middle" or "end"
  void text(double x, double y, std::string_view words, std::string_view anchor, std::string_view css_class);

  /// The whole element, closed.
  std::string str() const;

 private:
  std::string body_;
};

/// Text with `&`, `<`, `>` and `"` made safe for XML.
std::string escaped(std::string_view text);

}  // namespace evenhand::report
