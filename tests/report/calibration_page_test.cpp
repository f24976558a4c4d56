// The pages of a calibration: what a reader may see, and what the department has to say itself.
#include "report/calibration_page.hpp"

#include <algorithm>
#include <map>
#include <utility>
#include <variant>

#include <catch2/catch.hpp>

#include "report/calibrated.hpp"
#include "report/plots.hpp"

using namespace evenhand;
using namespace evenhand::report;

namespace {

/// Six raters, four cases, two items; rater "zoe" alone gives case c4, item 1 a 3 where the others give 0.
std::string table_of_scores() {
  std::string csv = "rater,case,item,score\n";
  for (const char* rater : {"key", "ann", "ben", "cyd", "dov", "eli", "zoe"})
    for (int c = 1; c <= 4; ++c)
      for (int i = 1; i <= 2; ++i) {
        const bool apart = std::string(rater) == "zoe" && c == 4 && i == 1;
        csv += std::string(rater) + ",c" + std::to_string(c) + "," + std::to_string(i) + "," +
               std::to_string(apart ? 3 : (c + i) % 5) + "\n";
      }
  return csv;
}

std::size_t times(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + part.size())) ++n;
  return n;
}

}  // namespace

TEST_CASE("each point of the guideline is answered, or visibly empty") {
  const auto all = test::calibrated(table_of_scores());
  std::size_t fields = 0;
  int number = 0;
  for (const GrrasPoint& point : grras_points()) {
    CHECK(point.number == ++number);
    CHECK((!point.answered.empty() || !point.field.empty()));
    fields += !point.field.empty();
  }
  CHECK(number == 16);
  const auto bare = calibration_html(all, {});
  CHECK(times(bare, "Empty: to be written") == fields);
  for (const GrrasPoint& point : grras_points())
    if (!point.anchor.empty())
      CHECK(bare.find("id=\"" + std::string(point.anchor) + "\"") != std::string::npos);
  CalibrationFrame frame;
  frame.about = {{"population", "Children <of> 4"}};
  const auto told = calibration_html(all, frame);
  CHECK(times(told, "Empty: to be written") == fields - 1);
  CHECK(told.find("Children &lt;of&gt; 4") != std::string::npos);
}

TEST_CASE("a report says when its authors' words were written, by whom only to who may see names") {
  const auto all = test::calibrated(table_of_scores());
  CalibrationFrame frame;
  frame.about = {{"population", "Children"}, {"raters", "Of the ward"}, {"ethics", "Given"}};
  frame.written = {{"population", {"2026-09-01", "otto", WordsAge::before_close, "2026-09-02", false}},
                   {"ethics", {"2026-09-05", "", WordsAge::after_lock, "2026-09-04", true}},
                   {"sampling", {"2026-09-05", "otto", WordsAge::after_lock, "2026-09-04", true}},
                   {"process", {"2026-09-01", "otto", WordsAge::before_close, "2026-09-02", false}}};
  const auto cells = [&] {
    std::map<std::string, std::string> written;
    const auto book = calibration_tables(all, frame);
    for (const auto& sheet : book.sheets) {
      if (sheet.name != "GRRAS") continue;
      for (const auto& row : sheet.rows)
        if (const auto* text = std::get_if<std::string>(&row.at(4)))
          written[std::get<std::string>(row.at(5))] = *text;
    }
    return written;
  };
  const std::string emptied = "Emptied 2026-09-05 by otto, after the round was locked (2026-09-04).";
  const std::map<std::string, std::string> named{
      {"population", "Written 2026-09-01 by otto, before the round closed (2026-09-02)."},
      {"ethics", "Changed 2026-09-05, after the round was locked (2026-09-04)."},
      {"sampling", emptied}};
  CHECK(cells() == named);
  const auto html = calibration_html(all, frame);
  for (const auto& [field, words] : named) CHECK(times(html, words) == 1);
  CHECK(times(html, "<i>Written") == 1);
  const auto json = calibration_json(all, frame);
  CHECK(times(json, "\"written\"") == 3);
  CHECK(times(json, "\"by\": \"otto\"") == 2);

  frame.reader = Reader::may_not_see_names;
  CHECK(times(calibration_html(all, frame), "Written 2026-09-01, before the round closed (2026-09-02).") ==
        1);
  CHECK(cells().at("sampling") == "Emptied 2026-09-05, after the round was locked (2026-09-04).");
  CHECK(times(calibration_html(all, frame), "by otto") == 0);
  CHECK(times(calibration_json(all, frame), "\"by\"") + times(calibration_json(all, frame), "otto") == 0);

  frame.written.clear();
  CHECK(cells().empty());
  CHECK(times(calibration_html(all, frame), "<i>Written") +
            times(calibration_json(all, frame), "written\"") ==
        0);
}

TEST_CASE("the workbook and the page name the department's texts that the library was read with") {
  const auto all = test::calibrated(table_of_scores());
  CalibrationFrame frame;
  CHECK(times(calibration_html(all, frame), "own set: ours") == 0);
  CHECK(times(calibration_json(all, frame), "\"laid_over\": []") == 1);
  frame.from.laid_over = {{"set", "ours", "0123abcd"}};
  CHECK(times(calibration_html(all, frame), "own set: ours") == 1);
  CHECK(times(calibration_html(all, frame), "0123abcd") == 1);
  const auto book = calibration_tables(all, frame);
  CHECK(std::ranges::count(
            book.about, std::pair<std::string, std::string>("Department's own set: ours", "0123abcd")) == 1);
}

TEST_CASE("what a department says of its study is read, and faults are named", "[edge]") {
  const auto about = read_about("format: evenhand/about-1\npopulation: Children\nethics:\n", "about.yaml");
  REQUIRE(about);
  CHECK(*about == About{{"population", "Children"}});
  const auto wrong = read_about("format: evenhand/about-1\npoplation: x\nraters: [a]\n", "about.yaml");
  REQUIRE_FALSE(wrong);
  CHECK(wrong.error().message.find(
            "about.yaml:2:1: `poplation` is not known here; did you mean `population`?") !=
        std::string::npos);
  CHECK(wrong.error().message.find("about.yaml:3:") != std::string::npos);
  CHECK_FALSE(read_about("population: x\n", "about.yaml"));
  CHECK_FALSE(read_about("- a\n", "about.yaml"));
}

TEST_CASE("a chart says its finding, and tells high from low without color") {
  HeatMap map{"r1 scores <high>",
              {"r1"},
              {"1", "2", "3"},
              {{1.0, -1.0, agreement::Value(agreement::Reason("none"))}}};
  const auto drawn = heat_map(map);
  CHECK(drawn.find("<title>r1 scores &lt;high&gt;</title>") != std::string::npos);
  CHECK(drawn.find(">+1.0<") != std::string::npos);
  CHECK(drawn.find(">\u22121.0<") != std::string::npos);
  CHECK(times(drawn, "class=\"bar\"") == 2);
  CHECK(times(drawn, "class=\"even\"") == 3);

  const auto strip = distribution_strip({"f", {"0", "1"}, {std::nullopt, 7}, 1});
  CHECK(strip.find(">few<") != std::string::npos);
  CHECK(strip.find(">1 key<") != std::string::npos);
  CHECK(forest_plot({"f", {{"a"}}, {0, 1, .5, [](double) { return std::string(); }}}).find("no value") !=
        std::string::npos);
}

TEST_CASE("marks are round and hold every number", "[property]") {
  for (const double high : {0.3, 1.0, 7.5, 42.0, 1234.0}) {
    const Range range = range_around({-high / 3, high}, nullptr);
    CHECK(range.from <= -high / 3);
    CHECK(range.to >= high);
    CHECK((range.to - range.from) / range.step <= 10.0);
  }
}
