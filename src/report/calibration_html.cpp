#include <algorithm>

#include <fmt/core.h>

#include "report/calibration_page.hpp"
#include "report/calibration_sections.hpp"
#include "report/calibration_words.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

constexpr std::size_t first_page_points = 4, first_page_raters = 6;

/// What the author wrote in lines stays in lines.
PageData lines_of(std::string_view words) {
  PageData lines = page_list();
  for (;;) {
    const auto end = words.find('\n');
    PageData line;
    line.set("line", std::string(words.substr(0, end)));
    set_bool(line, "more", end != std::string_view::npos);
    lines << line;
    if (end == std::string_view::npos) return lines;
    words.remove_prefix(end + 1);
  }
}

void set_grras(PageData& page, const CalibrationFrame& frame) {
  const About& about = frame.about;
  PageData rows = page_list();
  for (const GrrasPoint& point : grras_points()) {
    PageData row;
    row.set("number", point.number <= 15 ? std::to_string(point.number) : std::string("and"));
    row.set("asks", std::string(point.asks));
    row.set("answered", std::string(point.answered));
    if (!point.anchor.empty()) row.set("anchor", std::string(point.anchor));
    const auto said = about.find(std::string(point.field));
    if (said != about.end()) row.set("said", lines_of(said->second));
    if (const auto written = written_words(frame, point.field); !written.empty()) row.set("written", written);
    set_bool(row, "empty", said == about.end() && !point.field.empty());
    row.set("field", std::string(point.field));
    rows << row;
  }
  page.set("grras", rows);
}

void set_answer(PageData& page, const Calibration& of, const Shown& shown) {
  auto answer = calibration_answer(of, shown);
  page.set("headline", answer.front());
  answer.erase(answer.begin());
  page.set("answer", texts(answer));
  set_bool(page, "all", !shown.only_how_many());
  set_bool(page, "names", shown.names());
}

void set_talk(PageData& page, const Calibration& of) {
  PageData talk = page_list();
  for (std::size_t i = 0; i < std::min(first_page_raters, of.talk_with.size()); ++i) {
    const RaterOfRound& rater = of.raters[of.talk_with[i]];
    std::string words;
    for (const Talk& each : rater.talk) words += (words.empty() ? "" : "; ") + talk_words(each);
    add_row(talk, {{"rater", rater.rater.text()}, {"words", words}});
  }
  if (of.talk_with.size() > first_page_raters)
    page.set("talk_more", fmt::format("And {} more: see the last column of the table under “Rater by rater”.",
                                      count(of.talk_with.size() - first_page_raters)));
  set_bool(page, "has_talk", !of.talk_with.empty());
  page.set("talk", talk);
}

void set_points(PageData& page, const Calibration& of, const CalibrationView& view) {
  PageData points = page_list();
  for (std::size_t i = 0; i < std::min(first_page_points, of.agenda.points.size()); ++i) {
    const AgendaPoint& each = of.agenda.points[i];
    const auto levels = view.shown().point(each);
    add_row(points, {{"case", each.case_id.text()},
                     {"item", view.item(each.item)},
                     {"key", each.key ? of.categories[*each.key] : no_value},
                     {"given", given_words(levels, each, of)},
                     {"spread", !levels.counted ? left_out_few
                                : each.spread   ? decimal(*each.spread)
                                                : no_value}});
  }
  set_bool(page, "has_points", !of.agenda.points.empty());
  page.set("points", points);
  page.set("agenda_words", fmt::format("Of {}, {} scored alike by all. Largest spread first.",
                                       count_of(of.agenda.case_items, "case-item", "case-items"),
                                       count(of.agenda.all_agree)));
}

void set_suspects(PageData& page, const Calibration& of, const CalibrationView& view) {
  std::vector<std::string> suspects;
  for (const SuspectKey& each : of.suspect_keys)
    suspects.push_back(fmt::format("{}, item {}: {}.", each.case_id.text(), view.item(each.item),
                                   suspect_words(each, of, view.shown())));
  set_bool(page, "has_suspects", !suspects.empty());
  page.set("suspects", texts(suspects));
}

}  // namespace

std::string calibration_html(const Calibration& of, const CalibrationFrame& frame) {
  const CalibrationView view(of, frame);
  PageData page;
  page.set("round_title", view.round_title());
  page.set("instrument", frame.from.instrument_title);
  page.set("date", frame.from.date);
  page.set("scored", view.scored());
  set_answer(page, of, view.shown());
  if (!view.shown().only_how_many()) {
    std::vector<std::string> notices;
    if (!frame.since_lock.empty()) notices.push_back(frame.since_lock);
    for (const auto caution : of.group.cautions) notices.emplace_back(caution);
    set_bool(page, "has_notices", !notices.empty());
    page.set("notices", texts(notices));
    set_points(page, of, view);
    set_group_sections(page, of, view);
    if (view.shown().names()) {
      set_talk(page, of);
      set_rater_sections(page, of);
    }
    set_suspects(page, of, view);
    set_grras(page, frame);
    page.set("methods", texts(calibration_methods(of)));
  }
  view.set_provenance(page);
  return rendered_page("calibration/report.html", page);
}

}  // namespace evenhand::report
