#include <fmt/core.h>
#include <fmt/ranges.h>

#include "report/calibration_page.hpp"
#include "report/calibration_parts.hpp"
#include "report/calibration_words.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

PageData criteria_rows(const std::vector<Criterion>& criteria, const Calibration& of) {
  PageData rows = page_list();
  for (const Criterion& each : criteria) {
    PageData row;
    row.set("level", of.categories[each.category]);
    row.set("says", each.says);
    rows << row;
  }
  return rows;
}

std::string strip(const std::vector<std::size_t>& times, const std::optional<std::size_t>& key,
                  const Calibration& of, const CalibrationView& view) {
  Distribution d;
  d.levels = of.categories;
  d.key = key;
  std::string said;
  for (std::size_t i = 0; i < times.size(); ++i) {
    const bool shown = times[i] == 0 || view.shown(times[i]);
    d.times.push_back(shown ? std::optional(times[i]) : std::nullopt);
    if (times[i] > 0)
      said += fmt::format("{}level {} {}", said.empty() ? "" : ", ", of.categories[i],
                          shown ? fmt::format("{} times", times[i]) : std::string("few times"));
  }
  d.finding = "Given: " + said + (key ? "; the key is " + of.categories[*key] : "") + ".";
  return distribution_strip(d);
}

std::string who_words(const AgendaPoint& point, const Calibration& of) {
  std::string text;
  for (const GaveLevel& each : point.given) {
    std::vector<std::string> raters;
    for (const RaterId& rater : each.raters) raters.push_back(rater.text());
    constexpr std::size_t most = 12;
    const std::size_t more = raters.size() > most ? raters.size() - most : 0;
    if (more > 0) raters.resize(most);
    text +=
        fmt::format("{}Level {}: {}{}.", text.empty() ? "" : " ", of.categories[each.category],
                    fmt::join(raters, ", "), more > 0 ? fmt::format(" and {} more", more) : std::string());
  }
  return text;
}

PageData point_row(std::size_t number, const AgendaPoint& point, const Calibration& of,
                   const CalibrationView& view) {
  std::vector<std::size_t> times(of.categories.size(), 0);
  for (const GaveLevel& each : point.given) times[each.category] = each.raters.size();
  PageData row;
  row.set("number", std::to_string(number));
  row.set("case", point.case_id.text());
  row.set("item", view.item(point.item));
  row.set("words",
          fmt::format("{} gave a level{}; two of them differ by {} levels on average. {}{}",
                      count_of(point.raters, "rater", "raters"),
                      point.abstained.empty() || !view.shown(point.abstained.size())
                          ? std::string()
                          : fmt::format(", {} gave none", count(point.abstained.size())),
                      point.spread ? decimal(*point.spread) : no_value,
                      point.key ? fmt::format("Key {}, given by {}", of.categories[*point.key],
                                              point.exact ? percent(*point.exact) : std::string(no_value))
                                : std::string("No key"),
                      point.facts ? fmt::format(": {}.", words(point.facts->kind)) : std::string(".")));
  row.set("point_chart", strip(times, point.key, of, view));
  row.set("names", view.names() ? PageData::type::bool_true : PageData::type::bool_false);
  row.set("who", who_words(point, of));
  if (point.facts) {
    if (!point.facts->reason.empty()) row.set("reason", point.facts->reason);
    row.set("criteria", criteria_rows(point.facts->criteria, of));
  } else {
    row.set("criteria", page_list());
  }
  return row;
}

PageData zone_row(const GrayZone& zone, const Calibration& of, const CalibrationView& view) {
  std::vector<std::string> cases;
  for (const CaseId& id : zone.cases) cases.push_back(id.text());
  PageData row;
  row.set("item", view.item(zone.item));
  row.set("zone", zone.zone);
  row.set("met", fmt::format("Met in {} ({}), {}. {}", count_of(zone.cases.size(), "case", "cases"),
                             fmt::join(cases, ", "), count_of(zone.scores, "score", "scores"),
                             zone.ruling.empty() ? std::string("No rule gives a level.")
                                                 : "For now the rule " + zone.ruling +
                                                       " that came with the instrument gives the level."));
  row.set("criteria", criteria_rows(zone.criteria, of));
  row.set("zone_chart", strip(zone.given, std::nullopt, of, view));
  return row;
}

}  // namespace

std::string agenda_html(const Calibration& of, const CalibrationFrame& frame) {
  const CalibrationView view(of, frame);
  PageData page, points = page_list(), zones = page_list();
  std::size_t n_points = 0, n_zones = 0;
  if (!view.no_agenda()) {
    for (const AgendaPoint& point : of.agenda.points) points << point_row(++n_points, point, of, view);
    for (const GrayZone& zone : of.agenda.zones)
      if (zone.needs_ruling) {
        zones << zone_row(zone, of, view);
        ++n_zones;
      }
  } else {
    page.set("left_out", "The case-items are left out: the group is small, and names could be told.");
  }
  page.set("round_title", view.round_title());
  page.set("instrument", frame.from.instrument_title);
  page.set("date", frame.from.date);
  page.set("scored", view.scored());
  page.set("headline", fmt::format("{} to discuss, {} to make", count_of(n_points, "case-item", "case-items"),
                                   count_of(n_zones, "ruling", "rulings")));
  page.set("agenda_words", fmt::format("Of {} that two raters or more scored, {} scored alike by all.",
                                       count_of(of.agenda.case_items, "case-item", "case-items"),
                                       count(of.agenda.all_agree)));
  page.set("has_zones", n_zones > 0 ? PageData::type::bool_true : PageData::type::bool_false);
  page.set("zones", zones);
  page.set("points", points);
  page.set("command", frame.from.command);
  page.set("provenance", view.provenance());
  return rendered_page("calibration/agenda.html", page);
}

}  // namespace evenhand::report
