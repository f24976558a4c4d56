#include "report/svg.hpp"

#include <catch2/catch.hpp>

using namespace evenhand::report;

TEST_CASE("a picture is one closed element that says its finding") {
  Svg svg(100, 20, "ann & ben < 3");
  svg.line(0, 1, 2, 3, "axis");
  svg.text(5, 5, "\"x\"", "end", "small");
  const std::string text = svg.str();
  CHECK(text.starts_with("<svg "));
  CHECK(text.ends_with("</svg>"));
  CHECK(text.find("<title>ann &amp; ben &lt; 3</title>") != std::string::npos);
  CHECK(text.find("&quot;x&quot;") != std::string::npos);
  CHECK(text.find("style=") == std::string::npos);
}
