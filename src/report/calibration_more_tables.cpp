#include "report/calibration_page.hpp"
#include "report/calibration_sheets.hpp"
#include "report/calibration_words.hpp"
#include "report/tables.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;
using Row = std::vector<Cell>;

Cell level(const Calibration& of, const std::optional<std::size_t>& category) {
  return category ? Cell(of.categories[*category]) : Cell();
}

std::string list_of(const std::vector<std::string>& all) {
  std::string text;
  for (const auto& each : all) text += (text.empty() ? "" : ", ") + each;
  return text;
}

std::string levels_of(const ShownLevels& levels, const Calibration& of) {
  std::vector<std::string> all;
  for (const std::size_t each : levels.given) all.push_back(of.categories[each]);
  return list_of(all);
}

Sheet points_sheet(const Calibration& of, const Shown& shown) {
  Sheet sheet{"Agenda",
              "One row a case-item to discuss, largest spread first.",
              {{"case", "Id of the case"},
               {"item", "Id of the item"},
               {"key", "Level of the key"},
               {"key_is", "What the key rests on"},
               {"levels", "Levels that were given, lowest first"},
               {"commonest", "The level given most often"},
               {"raters", "Who gave a level"},
               {"abstained", "Who had it before them and gave none"},
               {"spread", "Mean difference of two raters, levels"},
               {"exact", "Share at the key"},
               {"given", "Levels and how often each was given"}},
              {}};
  for (const AgendaPoint& each : of.agenda.points) {
    const auto levels = shown.point(each);
    Row row{each.case_id.text(),   of.items[each.item].text(),
            level(of, each.key),   each.facts ? Cell(std::string(words(each.facts->kind))) : Cell(),
            levels_of(levels, of), level(of, levels.commonest)};
    if (levels.counted)
      row.insert(row.end(), {cell(each.raters), cell(each.abstained.size()), cell(each.spread),
                             cell(each.exact), given_words(levels, each, of)});
    row.resize(sheet.columns.size());
    sheet.rows.push_back(std::move(row));
  }
  return sheet;
}

Sheet zones_sheet(const Calibration& of, const Shown& shown) {
  Sheet sheet{"Gray zones",
              "One row an open place in the criteria that this round met.",
              {{"item", "Id of the item"},
               {"zone", "In words"},
               {"needs_ruling", "yes: no ruling of the department's own, and raters are split"},
               {"ruling", "Rule in force; blank: none"},
               {"cases", "Of the round that lie in it"},
               {"levels", "Levels that were given, lowest first"},
               {"commonest", "The level given most often"},
               {"scores", "Given in these cases"},
               {"exact", "Share at the key in force"},
               {"spread", "Mean difference of two raters on one case, levels"}},
              {}};
  for (const GrayZone& each : of.agenda.zones) {
    const auto levels = shown.zone(each);
    std::vector<std::string> cases;
    for (const CaseId& id : each.cases) cases.push_back(id.text());
    Row row{of.items[each.item].text(),
            each.zone,
            yes_no(each.needs_ruling),
            each.ruling.empty() ? Cell() : Cell(each.ruling),
            list_of(cases),
            levels_of(levels, of),
            level(of, levels.commonest)};
    if (levels.counted) row.insert(row.end(), {cell(each.scores), cell(each.exact), cell(each.spread)});
    row.resize(sheet.columns.size());
    sheet.rows.push_back(std::move(row));
  }
  return sheet;
}

Sheet suspects_sheet(const Calibration& of, const Shown& shown) {
  Sheet sheet{"Suspect keys",
              "One row a key that good raters contradict.",
              {{"case", "Id of the case"},
               {"item", "Id of the item"},
               {"key", "Level of the key"},
               {"given", "Level that they gave"},
               {"says", "In a sentence"},
               {"raters", "Judges who gave it"},
               {"of", "Judges who gave a level"},
               {"all_gave", "Of all raters, who gave it"},
               {"all", "Of all raters, who gave a level"}},
              {}};
  for (const SuspectKey& each : of.suspect_keys) {
    Row row{each.case_id.text(), of.items[each.item].text(), level(of, each.key), level(of, each.score),
            suspect_words(each, of, shown)};
    if (shown.names())
      row.insert(row.end(), {cell(each.raters), cell(each.of), cell(each.all_gave), cell(each.all)});
    row.resize(sheet.columns.size());
    sheet.rows.push_back(std::move(row));
  }
  return sheet;
}

Sheet key_changes_sheet(const Calibration& of) {
  Sheet sheet{"Changed keys",
              "One row a key of a common case that is not what it was in the round before.",
              {{"case", "Id of the case"},
               {"item", "Id of the item"},
               {"before", "Level before; blank: none"},
               {"after", "Level now; blank: none"}},
              {}};
  const auto text = [](const std::string& value) { return value.empty() ? Cell() : Cell(value); };
  if (of.since)
    for (const auto& each : of.since->keys)
      sheet.rows.push_back(
          {each.case_id.text(), of.items[each.item].text(), text(each.before), text(each.after)});
  return sheet;
}

std::vector<Sheet> with_rows(std::vector<Sheet> all) {
  std::erase_if(all, [](const Sheet& sheet) { return sheet.rows.empty(); });
  return all;
}

}  // namespace

std::vector<Sheet> agenda_sheets(const Calibration& of, const Shown& shown) {
  return with_rows(
      {points_sheet(of, shown), zones_sheet(of, shown), suspects_sheet(of, shown), key_changes_sheet(of)});
}

std::vector<Sheet> totals_sheets(const Calibration& of, const Shown& shown) {
  Sheet thirds{"Thirds",
               "One row a third of the scale of the total.",
               {{"from", "Total"}, {"to", "Total"}, {"cases", "Cases"}},
               {}};
  add_estimate_columns(thirds.columns, "sem", "Standard error of measurement, points of the total");
  for (const ThirdOfScale& each : of.group.sem_by_third) {
    Row row{each.from, each.to, cell(each.cases)};
    add_estimate(row, each.sem);
    thirds.rows.push_back(std::move(row));
  }
  Sheet totals{"Totals",
               "One row a total of the key: how far the raters' totals lie from it.",
               {{"key", "Total of the key"},
                {"cases", "Cases with it"},
                {"totals", "Totals given, (rater, case)"},
                {"mean", "Mean of rater less key, points"}},
               {}};
  if (shown.names()) {
    totals.columns.push_back({"lowest", "Lowest difference, points"});
    totals.columns.push_back({"highest", "Highest difference, points"});
  }
  for (std::size_t i = 0; i < of.differences.by_total.size(); ++i) {
    const DifferencesAtTotal& each = of.differences.by_total[i];
    Row row{each.key, cell(each.cases), cell(each.totals), shown.total(i) ? Cell(each.mean) : Cell()};
    if (shown.names()) row.insert(row.end(), {Cell(each.lowest), Cell(each.highest)});
    totals.rows.push_back(std::move(row));
  }
  return with_rows({std::move(thirds), std::move(totals)});
}

Sheet errors_sheet(const Calibration& of) {
  Sheet sheet{"Rater by item",
              "One row a rater and item: mean of score less settled key.",
              {{"rater", "Id"}, {"item", "Id"}, {"n", "Scores"}, {"error", "Mean of score less key, levels"}},
              {}};
  for (std::size_t r = 0; r < of.error_by_item.size(); ++r)
    for (std::size_t i = 0; i < of.error_by_item[r].size(); ++i)
      sheet.rows.push_back({of.raters[r].rater.text(), of.items[i].text(), cell(of.error_by_item[r][i].n),
                            cell(of.error_by_item[r][i].mean)});
  return sheet;
}

Sheet grras_sheet(const CalibrationFrame& frame) {
  const About& about = frame.about;
  Sheet sheet{"GRRAS",
              "What a report of agreement should say: one row a point of the guideline.",
              {{"point", "Number; 16 is about permission, no point of the guideline"},
               {"asks", "In our own words"},
               {"answered", "Where in the report"},
               {"said", "In the department's own words; blank: nothing"},
               {"written", "When, against the scores of the round; blank: not known"},
               {"field", "Of --about, or of the page of the round, where the department has to say it"}},
              {}};
  for (const GrrasPoint& each : grras_points()) {
    const auto said = about.find(std::string(each.field));
    const auto text = [](std::string_view value) {
      return value.empty() ? Cell() : Cell(std::string(value));
    };
    sheet.rows.push_back({static_cast<double>(each.number), text(each.asks), text(each.answered),
                          said == about.end() ? Cell() : Cell(said->second),
                          text(written_words(frame, each.field)), text(each.field)});
  }
  return sheet;
}

Sheet methods_sheet(const Calibration& of) {
  Sheet sheet{"Methods", "How each number was made.", {{"method", "A sentence each"}}, {}};
  for (const auto& each : calibration_methods(of)) sheet.rows.push_back({each});
  return sheet;
}

}  // namespace evenhand::report
