#include "report/calibration_page.hpp"
#include "report/calibration_parts.hpp"
#include "report/calibration_sheets.hpp"
#include "report/calibration_words.hpp"
#include "report/cautions.hpp"
#include "report/laid_over.hpp"
#include "report/tables.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;
using Row = std::vector<Cell>;

/// Statistics of the group, or only how many took part.
Sheet group_sheet(const Calibration& of, const Shown& shown) {
  Sheet sheet{"Group", "One row a statistic of the whole group.", {{"statistic", "What it is"}}, {}};
  add_estimate_columns(sheet.columns, "value", "Its value; blank: none");
  sheet.columns.push_back({"how", "Form and unit"});
  const auto put = [&](const char* name, const Estimate& e, std::string_view how) {
    Row row{std::string(name)};
    add_estimate(row, e);
    row.emplace_back(std::string(how));
    sheet.rows.push_back(std::move(row));
  };
  const auto number = [&](const char* name, std::size_t n, const char* how) {
    sheet.rows.push_back({std::string(name), cell(n), Cell(), Cell(), std::string(how)});
  };
  const GroupAgreement& g = of.group;
  number("raters", g.raters, "who took part");
  number("cases", g.cases, "of the round");
  number("items", g.items, "of the round");
  if (shown.only_how_many()) return sheet;
  number("scores", g.scores, "given by raters");
  number("no_score", g.no_score, "asked for, and not tested, refused, or blank");
  number("totals", g.totals, "(rater, case): what icc, sem and mdc95 rest on");
  number("totals_whole", g.totals_whole, "(rater, case) whose every item has a score");
  number("totals_scaled", g.totals_scaled,
         "(rater, case): what severity, drift and differences rest on; half cases are scaled");
  put("icc", g.icc.value, g.icc.form);
  put("icc_mean", g.icc_mean.value, g.icc_mean.form);
  put("kappa", g.kappa.value, g.kappa.form);
  put("exact", g.exact, "share of settled keys met; blanks are misses");
  put("within_one", g.within_one, "share within one level of the key");
  put("sem", g.sem, "points of the total");
  put("mdc95", g.mdc95, "points of the total");
  put("shift", g.shift, "points of the total, scores less key");
  const TotalDifferences& d = of.differences;
  put("difference_mean", d.mean, "points: totals of all raters less those of the key");
  sheet.rows.push_back({std::string("difference_sd"), cell(d.sd), Cell(), Cell(),
                        std::string("points: of single differences")});
  put("difference_lower", d.lower, "points: mean - 1.96 SD");
  put("difference_upper", d.upper, "points: mean + 1.96 SD");
  if (of.since && shown.change()) {
    const SinceLast& since = *of.since;
    put("change_exact", since.exact, "change of the share equal to the key since the round before");
    put("change_shift", since.group_shift, "points: the group's own change against the key");
    sheet.rows.push_back({std::string("least_flagged"), cell(since.least_flagged), Cell(), Cell(),
                          std::string("points: of raters who changed by so much about half would be found")});
  }
  sheet.rows.push_back({std::string("funnel_center"), cell(of.funnel.center), Cell(), Cell(),
                        std::string(of.funnel_against_peers ? "points: mean of all errors against the peers"
                                                            : "points: mean of all errors against the key")});
  sheet.rows.push_back({std::string("funnel_sd"), cell(of.funnel.sd), Cell(), Cell(),
                        std::string("points: of single errors within a rater, pooled")});
  sheet.rows.push_back({std::string("funnel_spread"), cell(of.funnel.spread), Cell(), Cell(),
                        std::string("about 1 when raters differ by chance only")});
  return sheet;
}

Sheet rounds_sheet(const Calibration& of, const Shown& shown) {
  Sheet sheet{"Rounds",
              "One row a round, up to this one.",
              {{"round", "Its id"}, {"raters", "Raters"}, {"cases", "Cases"}, {"scores", "Scores given"}},
              {}};
  add_estimate_columns(sheet.columns, "exact", "Share equal to the key");
  add_estimate_columns(sheet.columns, "shift", "Mean error of the group, points of the total");
  add_estimate_columns(sheet.columns, "icc", "ICC of the total");
  for (const auto& [name, means] : {std::pair{"common_raters", "With the round before"},
                                    {"common_cases", "With the round before"},
                                    {"joined", "Raters since the round before"},
                                    {"left", "Raters since the round before"},
                                    {"flagged", "Raters whose change was flagged"}})
    sheet.columns.push_back({name, means});
  for (const RoundPoint& each : of.rounds) {
    Row row{each.round.text(), cell(each.raters), cell(each.cases), cell(each.scores)};
    const bool seen = shown.round(each);
    for (const Estimate* e : {&each.exact, &each.shift, &each.icc.value})
      add_estimate(row, seen ? *e : Estimate::undefined(agreement::not_asked));
    for (const std::size_t n : {each.common_raters, each.common_cases, each.joined, each.left})
      row.push_back(cell(n));
    row.push_back(shown.flagged(each) ? cell(each.flagged) : Cell());
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
  add_estimate_columns(sheet.columns, "missed_share", "missed / counted, limits by case");
  add_estimate_columns(sheet.columns, "excess", "Missed share less that of the other items");
  sheet.columns.push_back({"p_holm", "Of the excess, one-sided, Holm over the items"});
  add_estimate_columns(sheet.columns, "signed_error", "Mean of score less key, levels");
  add_estimate_columns(sheet.columns, "signed_excess",
                       "Signed error less that of the other items, inner keys");
  add_estimate_columns(sheet.columns, "icc", "ICC of the item");
  sheet.columns.push_back({"stands_out", "yes: missed clearly more than the others"});
  sheet.columns.push_back({"misread", "yes: stands out, and one way"});
  add_estimate_columns(sheet.columns, "change", "Change of missed_share since the round before");
  sheet.columns.push_back({"change_p_holm", "Of the change, Holm over the items"});
  sheet.columns.push_back({"change_flagged", "yes: the change was flagged"});
  sheet.columns.push_back({"n", "Scores beside a settled key, blanks left out: of the columns that follow"});
  add_estimate_columns(sheet.columns, "exact", "Share equal to the key");
  add_estimate_columns(sheet.columns, "within_one", "Share one level off at most");
  add_estimate_columns(sheet.columns, "share_of_disagreement", "Of |score - key| summed over all items");
  add_estimate_columns(sheet.columns, "weighted_kappa", "Scores against the key, linear weights");
  const auto nothing = Estimate::undefined(agreement::not_asked);
  const bool all = view.shown().all_items();
  for (const ItemAgreement& each : of.by_item) {
    const bool seen = view.shown().item(each.item);
    Row row{of.items[each.item].text(), view.item(each.item), cell(each.counted),
            seen ? cell(each.missed) : Cell()};
    add_estimate(row, seen ? each.missed_share : nothing);
    add_estimate(row, seen && all ? each.excess : nothing);
    row.push_back(seen && all ? cell(each.p_holm) : Cell());
    add_estimate(row, seen ? each.signed_error : nothing);
    add_estimate(row, seen && all ? each.signed_excess : nothing);
    add_estimate(row, seen ? each.icc.value : nothing);
    row.push_back(seen ? yes_no(each.stands_out) : Cell());
    row.push_back(seen ? yes_no(each.misread) : Cell());
    const SinceLast::ItemChange* change =
        seen && of.since && view.shown().change() && each.item < of.since->items.size()
            ? &of.since->items[each.item]
            : nullptr;
    add_estimate(row, change != nullptr ? change->missed : nothing);
    row.push_back(change != nullptr ? cell(change->p_holm) : Cell());
    row.push_back(change != nullptr ? yes_no(change->flagged) : Cell());
    const auto& key = each.against_key;
    row.push_back(seen ? cell(key.n) : Cell());
    add_estimate(row, seen ? key.exact : nothing);
    add_estimate(row, seen ? key.within_one : nothing);
    add_estimate(row, seen && all ? key.share : nothing);
    add_estimate(row, seen ? key.kappa.linear : nothing);
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
  add_estimate_columns(sheet.columns, "exact", "Share equal to the key, blanks as misses");
  sheet.columns.push_back(
      {"p_exact_holm", "Of exact below what is acceptable, one-sided, Holm over the raters"});
  add_estimate_columns(sheet.columns, "against_key", "Mean error, points of the total");
  add_estimate_columns(sheet.columns, "against_peers",
                       "Less the peers on the same cases, points of the total");
  sheet.columns.push_back({"p_peers_holm", "Of against_peers, Holm over the raters"});
  add_estimate_columns(sheet.columns, "drift",
                       "Change since the round before, against the peers, points of the total");
  sheet.columns.push_back({"drift_p_holm", "Of drift, Holm over the raters"});
  sheet.columns.push_back({"drift_flagged", "yes: drift"});
  sheet.columns.push_back({"talk", "What to talk about"});
  for (const auto& [name, means] : {std::pair{"funnel_mean", "Mean error, points of the total"},
                                    {"inner_lower", "95 % limit of the funnel"},
                                    {"inner_upper", "95 % limit of the funnel"},
                                    {"outer_lower", "99.8 % limit of the funnel"},
                                    {"outer_upper", "99.8 % limit of the funnel"}})
    sheet.columns.push_back({name, means});
  for (const RaterOfRound& each : of.raters) {
    Row row{each.rater.text(), cell(each.cases), cell(each.scores), cell(each.abstained)};
    add_estimate(row, each.exact);
    row.push_back(cell(each.p_exact_holm));
    add_estimate(row, each.against_key);
    add_estimate(row, each.against_peers);
    row.push_back(cell(each.p_peers_holm));
    add_estimate(row, each.drift ? each.drift->change : Estimate::undefined(agreement::not_asked));
    row.push_back(each.drift ? cell(each.drift->p_holm) : Cell());
    row.push_back(yes_no(each.drift && each.drift->flagged));
    std::string talk;
    for (const Talk& one : each.talk) talk += (talk.empty() ? "" : "; ") + talk_words(one);
    row.push_back(talk.empty() ? Cell() : Cell(talk));
    const auto& f = each.funnel;
    for (const Value& value : {f.mean, f.inner_lower, f.inner_upper, f.outer_lower, f.outer_upper})
      row.push_back(cell(value));
    sheet.rows.push_back(std::move(row));
  }
  return sheet;
}

}  // namespace

Workbook calibration_tables(const Calibration& of, const CalibrationFrame& frame) {
  const CalibrationView view(of, frame);
  const Shown& shown = view.shown();
  const Provenance& from = frame.from;
  Workbook book{"Calibration" + view.round_title(),
                from.date,
                {{"Instrument", from.instrument_title},
                 {"Date", from.date},
                 {"Program", from.program},
                 {"Command", from.command},
                 {"Scores", from.scores_name},
                 {"Scores, fingerprint", from.scores_fingerprint},
                 {"Criteria and rulings, fingerprint", from.instrument_fingerprint},
                 {"Standard, fingerprint", from.standard_fingerprint}},
                {group_sheet(of, shown)}};
  for (auto& row : laid_over_rows(from)) book.about.push_back(std::move(row));
  for (const auto& caution : standing_cautions(Paperwork::report))
    book.about.emplace_back("Caution", caution);
  if (!frame.since_lock.empty()) book.about.emplace_back("Caution", frame.since_lock);
  for (const auto caution : of.group.cautions)
    if (!shown.only_how_many()) book.about.emplace_back("Caution", std::string(caution));
  book.about.emplace_back("Blank cells",
                          shown.names() ? "No value; the JSON says why."
                                        : "No value, or left out: it tells of few raters, and the reader "
                                          "may not see names. The JSON says which.");
  if (shown.only_how_many()) return book;
  book.sheets.push_back(rounds_sheet(of, shown));
  book.sheets.push_back(items_sheet(of, view));
  if (shown.names()) {
    book.sheets.push_back(raters_sheet(of));
    book.sheets.push_back(errors_sheet(of));
  }
  for (Sheet& sheet : agenda_sheets(of, shown)) book.sheets.push_back(std::move(sheet));
  for (Sheet& sheet : totals_sheets(of, shown)) book.sheets.push_back(std::move(sheet));
  book.sheets.push_back(grras_sheet(frame));
  book.sheets.push_back(methods_sheet(of));
  return book;
}

}  // namespace evenhand::report
