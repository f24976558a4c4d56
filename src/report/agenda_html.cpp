#include <fmt/core.h>
#include <fmt/ranges.h>

#include "report/calibration_page.hpp"
#include "report/calibration_parts.hpp"
#include "report/calibration_words.hpp"
#include "report/plots.hpp"
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

/// How often each level was given, as a picture. Only where it may be shown.
std::string strip(const std::vector<std::size_t>& times, const std::optional<std::size_t>& key,
                  const Calibration& of) {
  Distribution d;
  d.levels = of.categories;
  d.key = key;
  std::string said;
  for (std::size_t i = 0; i < times.size(); ++i) {
    d.times.emplace_back(times[i]);
    if (times[i] > 0)
      said += fmt::format("{}level {} {}", said.empty() ? "" : ", ", of.categories[i],
                          times[i] == 1 ? std::string("once") : fmt::format("{} times", times[i]));
  }
  d.finding = "Given: " + said + (key ? "; the key is " + of.categories[*key] : "") + ".";
  return distribution_strip(d);
}

/// What is said instead of counts.
std::string levels_words(const ShownLevels& levels, const Calibration& of) {
  if (levels.given.empty()) return "How the levels were given is left out: few gave some of them.";
  std::vector<std::string> given;
  for (const std::size_t level : levels.given) given.push_back(of.categories[level]);
  return fmt::format("Levels given: {}; {} most often. How often is left out: few gave some of them.",
                     fmt::join(given, ", "), of.categories[*levels.commonest]);
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

std::string key_words(const AgendaPoint& point, const Calibration& of, bool counted) {
  std::string text = point.key ? "Key " + of.categories[*point.key] : "No key";
  if (point.key && counted && point.exact) text += ", given by " + percent(*point.exact);
  return text + (point.facts ? fmt::format(": {}.", words(point.facts->kind)) : std::string("."));
}

std::string spread_words(const AgendaPoint& point, const Calibration& of, const ShownLevels& levels) {
  if (!levels.counted) return levels_words(levels, of) + " " + key_words(point, of, false);
  return fmt::format(
      "{} gave a level{}; two of them differ by {} levels on average. {}",
      count_of(point.raters, "rater", "raters"),
      point.abstained.empty() ? std::string() : fmt::format(", {} gave none", count(point.abstained.size())),
      point.spread ? decimal(*point.spread) : no_value, key_words(point, of, true));
}

PageData point_row(std::size_t number, const AgendaPoint& point, const Calibration& of,
                   const CalibrationView& view) {
  std::vector<std::size_t> times(of.categories.size(), 0);
  for (const GaveLevel& each : point.given) times[each.category] = each.raters.size();
  const auto levels = view.shown().point(point);
  PageData row;
  row.set("number", std::to_string(number));
  row.set("case", point.case_id.text());
  row.set("item", view.item(point.item));
  row.set("words", spread_words(point, of, levels));
  set_bool(row, "counted", levels.counted);
  if (levels.counted) row.set("point_chart", strip(times, point.key, of));
  set_bool(row, "names", view.shown().names());
  if (view.shown().names()) row.set("who", who_words(point, of));
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
  const auto levels = view.shown().zone(zone);
  row.set("met", fmt::format("Met in {} ({}){}. {}{}", count_of(zone.cases.size(), "case", "cases"),
                             fmt::join(cases, ", "),
                             levels.counted ? ", " + count_of(zone.scores, "score", "scores") : std::string(),
                             levels.counted ? std::string() : levels_words(levels, of) + " ",
                             zone.ruling.empty() ? std::string("No rule gives a level.")
                                                 : "For now the rule " + zone.ruling +
                                                       " that came with the instrument gives the level."));
  set_bool(row, "counted", levels.counted);
  row.set("criteria", criteria_rows(zone.criteria, of));
  if (levels.counted) row.set("zone_chart", strip(zone.given, std::nullopt, of));
  return row;
}

}  // namespace

std::string agenda_html(const Calibration& of, const CalibrationFrame& frame) {
  const CalibrationView view(of, frame);
  PageData page, points = page_list(), zones = page_list();
  std::size_t n_points = 0, n_zones = 0;
  const bool all = !view.shown().only_how_many();
  if (all) {
    for (const AgendaPoint& point : of.agenda.points) points << point_row(++n_points, point, of, view);
    for (const GrayZone& zone : of.agenda.zones)
      if (zone.needs_ruling) {
        zones << zone_row(zone, of, view);
        ++n_zones;
      }
    page.set("headline",
             fmt::format("{} to discuss, {} to make", count_of(n_points, "case-item", "case-items"),
                         count_of(n_zones, "ruling", "rulings")));
    page.set("agenda_words",
             fmt::format("Of {} that two raters or more scored, {} scored alike by all.{}{}",
                         count_of(of.agenda.case_items, "case-item", "case-items"),
                         count(of.agenda.all_agree), frame.since_lock.empty() ? "" : " ", frame.since_lock));
  } else {
    const auto answer = calibration_answer(of, view.shown());
    page.set("headline", answer.front());
    page.set("agenda_words", answer.back());
  }
  set_bool(page, "all", all);
  page.set("round_title", view.round_title());
  page.set("instrument", frame.from.instrument_title);
  page.set("date", frame.from.date);
  page.set("scored", view.scored());
  set_bool(page, "has_zones", n_zones > 0);
  page.set("zones", zones);
  page.set("points", points);
  view.set_provenance(page);
  return rendered_page("calibration/agenda.html", page);
}

}  // namespace evenhand::report
