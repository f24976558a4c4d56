#include "report/calibration_page.hpp"
#include "report/calibration_parts.hpp"
#include "report/calibration_words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;
using Row = std::vector<Cell>;

Cell yes_no(bool truth) { return std::string(truth ? "yes" : "no"); }

void add(Row& row, const Estimate& e) {
  for (const auto& value : {e.estimate, e.lower, e.upper}) row.push_back(cell(value));
}

/// Columns of an estimate and its two limits.
void estimate_columns(std::vector<Column>& columns, const std::string& name, const std::string& means) {
  columns.push_back({name, means});
  columns.push_back({name + "_lower", "Lower limit of " + name});
  columns.push_back({name + "_upper", "Upper limit of " + name});
}

Sheet group_sheet(const Calibration& of) {
  Sheet sheet{"Group", "One row a statistic of the whole group.", {{"statistic", "What it is"}}, {}};
  estimate_columns(sheet.columns, "value", "Its value; blank: none");
  sheet.columns.push_back({"how", "Form and unit"});
  const auto put = [&](const char* name, const Estimate& e, std::string_view how) {
    Row row{std::string(name)};
    add(row, e);
    row.emplace_back(std::string(how));
    sheet.rows.push_back(std::move(row));
  };
  const GroupAgreement& g = of.group;
  put("icc", g.icc.value, g.icc.form);
  put("icc_mean", g.icc_mean.value, g.icc_mean.form);
  put("kappa", g.kappa.value, g.kappa.form);
  put("exact", g.exact, "share of scores equal to the key");
  put("within_one", g.within_one, "share within one level of the key");
  put("sem", g.sem, "points of the total");
  put("mdc95", g.mdc95, "points of the total");
  put("shift", g.shift, "points of the total, scores less key");
  return sheet;
}

Sheet rounds_sheet(const Calibration& of) {
  Sheet sheet{"Rounds",
              "One row a round, up to this one.",
              {{"round", "Its id"}, {"raters", "Raters"}, {"cases", "Cases"}, {"scores", "Scores given"}},
              {}};
  estimate_columns(sheet.columns, "exact", "Share equal to the key");
  estimate_columns(sheet.columns, "shift", "Mean error of the group, points of the total");
  estimate_columns(sheet.columns, "icc", "ICC of the total");
  for (const auto& [name, means] : {std::pair{"common_raters", "With the round before"},
                                    {"common_cases", "With the round before"},
                                    {"joined", "Raters since the round before"},
                                    {"left", "Raters since the round before"},
                                    {"flagged", "Raters whose change was flagged"}})
    sheet.columns.push_back({name, means});
  for (const RoundPoint& each : of.rounds) {
    Row row{each.round.text(), cell(each.raters), cell(each.cases), cell(each.scores)};
    add(row, each.exact);
    add(row, each.shift);
    add(row, each.icc.value);
    for (const std::size_t n : {each.common_raters, each.common_cases, each.joined, each.left, each.flagged})
      row.push_back(cell(n));
    sheet.rows.push_back(std::move(row));
  }
  return sheet;
}

Sheet items_sheet(const Calibration& of, const CalibrationView& view) {
  Sheet sheet{"Items",
              "One row an item, over all raters.",
              {{"item", "Its id"},
               {"name", "Its name"},
               {"counted", "Scores and blanks beside a settled key"},
               {"missed", "Of these, not equal to the key"}},
              {}};
  estimate_columns(sheet.columns, "missed_share", "missed / counted, limits by case");
  estimate_columns(sheet.columns, "excess", "Missed share less that of the other items");
  sheet.columns.push_back({"p_holm", "Of the excess, one-sided, Holm over the items"});
  estimate_columns(sheet.columns, "signed_error", "Mean of score less key, levels");
  estimate_columns(sheet.columns, "icc", "ICC of the item");
  sheet.columns.push_back({"stands_out", "yes: missed clearly more than the others"});
  sheet.columns.push_back({"misread", "yes: stands out, and one way"});
  for (const ItemAgreement& each : of.by_item) {
    Row row{of.items[each.item].text(), view.item(each.item), cell(each.counted), cell(each.missed)};
    add(row, each.missed_share);
    add(row, each.excess);
    row.push_back(cell(each.p_holm));
    add(row, each.signed_error);
    add(row, each.icc.value);
    row.push_back(yes_no(each.stands_out));
    row.push_back(yes_no(each.misread));
    sheet.rows.push_back(std::move(row));
  }
  return sheet;
}

Sheet raters_sheet(const Calibration& of) {
  Sheet sheet{"Raters",
              "One row a rater.",
              {{"rater", "Id"},
               {"cases", "Cases with a score"},
               {"scores", "Scores given"},
               {"abstained", "Asked for, a keyed level, no score"}},
              {}};
  estimate_columns(sheet.columns, "exact", "Share equal to the key, blanks as misses");
  estimate_columns(sheet.columns, "against_key", "Mean error, points of the total");
  estimate_columns(sheet.columns, "against_peers", "Less the peers on the same cases, points of the total");
  sheet.columns.push_back({"p_peers_holm", "Of against_peers, Holm over the raters"});
  estimate_columns(sheet.columns, "drift",
                   "Change since the round before, against the peers, points of the total");
  sheet.columns.push_back({"drift_p_holm", "Of drift, Holm over the raters"});
  sheet.columns.push_back({"drift_flagged", "yes: drift"});
  sheet.columns.push_back({"talk", "What to talk about"});
  for (const RaterOfRound& each : of.raters) {
    Row row{each.rater.text(), cell(each.cases), cell(each.scores), cell(each.abstained)};
    add(row, each.exact);
    add(row, each.against_key);
    add(row, each.against_peers);
    row.push_back(cell(each.p_peers_holm));
    add(row, each.drift ? each.drift->change : Estimate::undefined(agreement::not_asked));
    row.push_back(each.drift ? cell(each.drift->p_holm) : Cell());
    row.push_back(yes_no(each.drift && each.drift->flagged));
    std::string talk;
    for (const Talk& one : each.talk) talk += (talk.empty() ? "" : "; ") + talk_words(one);
    row.push_back(talk.empty() ? Cell() : Cell(talk));
    sheet.rows.push_back(std::move(row));
  }
  return sheet;
}

Sheet agenda_sheet(const Calibration& of, const CalibrationView& view) {
  Sheet sheet{"Agenda",
              "One row a case-item to discuss, largest spread first.",
              {{"case", "Id of the case"},
               {"item", "Id of the item"},
               {"raters", "Who gave a level"},
               {"key", "Level of the key"},
               {"key_is", "What the key rests on"},
               {"spread", "Mean difference of two raters, levels"},
               {"exact", "Share at the key"},
               {"given", "Levels and how often each was given"}},
              {}};
  for (const AgendaPoint& each : of.agenda.points)
    sheet.rows.push_back({each.case_id.text(), of.items[each.item].text(), cell(each.raters),
                          each.key ? Cell(of.categories[*each.key]) : Cell(),
                          each.facts ? Cell(std::string(words(each.facts->kind))) : Cell(), cell(each.spread),
                          cell(each.exact), view.given(each)});
  return sheet;
}

}  // namespace

Workbook calibration_tables(const Calibration& of, const CalibrationFrame& frame) {
  const CalibrationView view(of, frame);
  const Provenance& from = frame.from;
  Workbook book{
      "Calibration" + view.round_title(),
      from.date,
      {{"Instrument", from.instrument_title},
       {"Date", from.date},
       {"Program", from.program},
       {"Command", from.command},
       {"Scores", from.scores_name},
       {"Scores, fingerprint", from.scores_fingerprint},
       {"Criteria and rulings, fingerprint", from.instrument_fingerprint},
       {"Caution",
        "Educational evidence: no license, no diagnosis, no verdict on employment. Keep it under your "
        "institution's rules."},
       {"Blank cells", "No value; the JSON says why."}},
      {group_sheet(of), rounds_sheet(of), items_sheet(of, view)}};
  if (view.names()) book.sheets.push_back(raters_sheet(of));
  if (!view.no_agenda()) book.sheets.push_back(agenda_sheet(of, view));
  return book;
}

}  // namespace evenhand::report
