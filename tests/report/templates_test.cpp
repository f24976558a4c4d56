#include "report/templates.hpp"

#include <regex>
#include <string>

#include <catch2/catch.hpp>

using evenhand::report::template_file;

TEST_CASE("only pictures and the style sheet are put into a page unescaped") {
  const std::regex triple(R"(\{\{\{\s*([a-z_]+)\s*\}\}\})");
  for (const char* name : {"competency/rater.html", "competency/group.html", "calibration/report.html",
                           "calibration/agenda.html", "sheet/sheet.html"}) {
    const std::string text(template_file(name));
    REQUIRE_FALSE(text.empty());
    for (auto at = std::sregex_iterator(text.begin(), text.end(), triple); at != std::sregex_iterator();
         ++at) {
      const std::string what = (*at)[1];
      INFO(name << ": {{{" << what << "}}}");
      CHECK((what == "style" || what.ends_with("_chart")));
    }
  }
}

TEST_CASE("a page asks nothing of the network") {
  for (const char* name : {"competency/rater.html", "competency/group.html", "calibration/report.html",
                           "calibration/agenda.html", "sheet/sheet.html", "sheet/sheet.css", "style.css"}) {
    const std::string text(template_file(name));
    REQUIRE_FALSE(text.empty());
    CHECK(text.find("http") == std::string::npos);
    CHECK(text.find("@import") == std::string::npos);
    CHECK(text.find("<script") == std::string::npos);
  }
  CHECK(template_file("no/such.html").empty());
}
