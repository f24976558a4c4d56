#include <fmt/core.h>

#include "base/time.hpp"
#include "report/competency_words.hpp"
#include "report/laid_over.hpp"
#include "report/tables.hpp"

namespace evenhand::report {
namespace {

using namespace competency;
using Row = std::vector<Cell>;

Sheet raters_sheet(std::span<const Summary> all) {
  Sheet sheet{"Raters",
              "One row a rater: the decision, and what stands beside it.",
              {{"rater", "Id of the rater"},
               {"decision", "By the standard named above"},
               {"provisional", "yes: too few second readers confirmed the keys; it decides about nobody"},
               {"cases", "Cases behind the decision, at the look that stands"},
               {"scores", "Scores that count there"},
               {"same", "Of these, equal to the key"},
               {"share", "same / scores, 0 to 1"},
               {"decides_lower", "Lower limit of the share that decides, one-sided"},
               {"decides_upper", "Upper limit, one-sided"},
               {"one_sided_level", "Level of each of these limits"},
               {"effective_scores", "Number of independent scores that would tell as much"},
               {"all_share", "Share equal to the key over all cases so far, abstentions as misses"},
               {"all_lower", "Its 95 % limit by case, lower"},
               {"all_upper", "Its 95 % limit by case, upper"},
               {"within_one", "Share within one level of the key"},
               {"within_one_lower", "Lower limit"},
               {"within_one_upper", "Upper limit"},
               {"error_points", "Mean signed error, points of the total; above 0: scores too high"},
               {"error_lower", "Lower limit"},
               {"error_upper", "Upper limit"},
               {"error_confidence", "Two-sided level of the limits of error_points"},
               {"two_levels_off", "Scores two levels or more from the key"},
               {"item_kappa", "Linearly weighted kappa, mean of the items that have one"}},
              {}};
  for (const Summary& s : all) {
    const Limit& limit = standing_look(s.decision).limit;
    Row row{s.rater.text(),    verdict_words(s.decision),   yes_no(s.decision.provisional),
            cell(limit.cases), cell(limit.scores),          cell(limit.right),
            cell(limit.share), cell(limit.lower),           cell(limit.upper),
            limit.level,       cell(limit.effective_scores)};
    add_estimate(row, s.agreement);
    add_estimate(row, s.within_one);
    add_estimate(row, s.bias.points);
    row.emplace_back(s.bias.confidence);
    row.push_back(cell(s.wide.wide));
    row.push_back(cell(s.mean_kappa));
    sheet.rows.push_back(std::move(row));
  }
  return sheet;
}

Sheet items_sheet(std::span<const Summary> all, const AnswerKey& key) {
  Sheet sheet{"Items",
              "One row a rater and item, over the scores that count.",
              {{"rater", "Id of the rater"},
               {"item", "Id of the item"},
               {"name", "Its name"},
               {"shown", "Scores that count, abstentions included"},
               {"missed", "Of these, not equal to the key"},
               {"abstained", "Of these, without a level"},
               {"stands_out", "yes: missed so often that it holds the rater back"},
               {"same", "Share of the scores given that equal the key"},
               {"within_one", "Share within one level"},
               {"mean_error", "Mean of score minus key, in levels"},
               {"share", "Of all disagreement of this rater, 0 to 1"}},
              {}};
  for (const Summary& s : all)
    for (const ItemSummary& one : s.items) {
      const auto& d = one.against_key;
      sheet.rows.push_back({s.rater.text(), key.items[one.item].id.text(), key.items[one.item].name,
                            cell(one.shown), cell(one.missed), cell(one.abstained), yes_no(one.stands_out),
                            cell(d.exact.estimate), cell(d.within_one.estimate), cell(d.mean_signed.estimate),
                            cell(d.share.estimate)});
    }
  return sheet;
}

Sheet looks_sheet(std::span<const Summary> all) {
  Sheet sheet{"Looks",
              "One row a rater and look: what the standard saw when it looked.",
              {{"rater", "Id of the rater"},
               {"cases", "Cases at this look"},
               {"scores", "Scores that count"},
               {"same", "Of these, equal to the key"},
               {"share", "same / scores"},
               {"lower", "Lower limit, one-sided"},
               {"upper", "Upper limit, one-sided"},
               {"one_sided_level", "Level of each limit"},
               {"design_effect", "How much the scores of one case go together, as used"},
               {"held_back", "yes: an item was missed too often"}},
              {}};
  for (const Summary& s : all)
    for (const Look& look : s.decision.looks)
      sheet.rows.push_back({s.rater.text(), cell(look.limit.cases), cell(look.limit.scores),
                            cell(look.limit.right), cell(look.limit.share), cell(look.limit.lower),
                            cell(look.limit.upper), look.limit.level, look.limit.effect,
                            yes_no(look.held_back())});
  return sheet;
}

Sheet scores_sheet(std::span<const Summary> all, const AnswerKey& key) {
  Sheet sheet{"Scores",
              "One row a score beside its key, in the order of scoring.",
              {{"rater", "Id of the rater"},
               {"case", "Id of the case"},
               {"item", "Id of the item"},
               {"key", "The key in force: a level, or a status in a word"},
               {"score", "What the rater gave: a level or a status; blank: nothing"},
               {"levels_off", "score minus key in levels; above 0: too high"},
               {"counts", "yes, or why the score does not count toward the decision"},
               {"seconds", "The rater's stopwatch, where one was used"}},
              {}};
  for (const Summary& s : all)
    for (const CaseResult& one : s.cases)
      for (const ItemResult& result : one.items)
        sheet.rows.push_back(
            {s.rater.text(), one.id.text(), key.items[result.item].id.text(), result.key_says,
             result.score_says.empty() ? Cell() : Cell(result.score_says),
             result.levels_off ? Cell(static_cast<double>(*result.levels_off)) : Cell(),
             std::string(result.decidable == Decidable::yes ? "yes" : words(result.decidable)),
             result.seconds ? Cell(*result.seconds) : Cell()});
  return sheet;
}

Sheet slips_sheet(std::span<const Summary> all) {
  Sheet sheet{"Slips",
              "One row a rater and kind of slip, told from what was written down beside the scores.",
              {{"rater", "Id of the rater"}, {"kind", "Kind of slip"}, {"times", "How often"}},
              {}};
  for (const Summary& s : all)
    if (s.slips)
      for (const SlipCount& slip : *s.slips)
        sheet.rows.push_back({s.rater.text(), slip_words(slip.slip), cell(slip.times)});
  return sheet;
}

Sheet sittings_sheet(std::span<const Summary> all) {
  Sheet sheet{"Sittings",
              "One row a rater and sitting: how the work went over time. Only cases met for the first time.",
              {{"rater", "Id of the rater"},
               {"sitting", "Its number, in order of the first case"},
               {"round", "Id of the round"},
               {"day", "Of the first score, UTC"},
               {"cases", "Cases"},
               {"scores", "Scores that count, abstentions included"},
               {"right", "Of these, equal to the key"}},
              {}};
  add_estimate_columns(sheet.columns, "share", "right / scores, limits by case");
  add_estimate_columns(sheet.columns, "error_points",
                       "Mean signed error, points of the total, limits by case");
  sheet.columns.push_back({"watch_readings", "Stopwatch readings with a true time beside them"});
  sheet.columns.push_back({"watch_left_out", "Readings without one"});
  add_estimate_columns(sheet.columns, "watch_error", "Reading less true time, seconds, limits by case");
  sheet.columns.push_back({"watch_sd", "Standard deviation of single readings, seconds"});
  for (const Summary& s : all)
    for (std::size_t i = 0; i < s.course.sittings.size(); ++i) {
      const SittingPoint& one = s.course.sittings[i];
      Row row{s.rater.text(),
              cell(i + 1),
              one.round.empty() ? Cell() : Cell(one.round.text()),
              one.at ? Cell(base::to_date(*one.at)) : Cell(),
              cell(one.cases),
              cell(one.scores),
              cell(one.right)};
      add_estimate(row, one.share);
      add_estimate(row, one.points);
      row.push_back(cell(one.watch.readings));
      row.push_back(cell(one.watch.unknown));
      add_estimate(row, one.watch.mean);
      row.push_back(cell(one.watch.sd));
      sheet.rows.push_back(std::move(row));
    }
  return sheet;
}

Sheet control_sheet(std::span<const Summary> all) {
  Sheet sheet{"Control charts",
              "One row a rater and case, in the order of scoring; raters without a chart have none.",
              {{"rater", "Id of the rater"},
               {"case", "Id of the case"},
               {"error_points", "Mean of score minus key times the items with levels: points of the total"},
               {"average", "Average of the errors so far, the newest case counting weight"},
               {"lower", "Lower limit"},
               {"upper", "Upper limit"},
               {"signal", "yes: outside the limits"},
               {"weight", "Of the newest case"},
               {"run", "Cases between false signals for a rater who stays at the key, simulated"}},
              {}};
  for (const Summary& s : all)
    for (const ControlPoint& one : s.course.control.points)
      sheet.rows.push_back({s.rater.text(), one.id.text(), one.error, one.average, one.lower, one.upper,
                            yes_no(one.signal), s.course.control.weight, s.course.control.average_run});
  return sheet;
}

Sheet met_before_sheet(const Provenance& from) {
  Sheet sheet{"Met before",
              "One row a rater and case that the rater knew before the check was over: left out of the rest.",
              {{"rater", "Id of the rater"}, {"case", "Id of the case"}},
              {}};
  for (const auto& [rater, cases] : from.met_before)
    for (const CaseId& id : cases) sheet.rows.push_back({rater.text(), id.text()});
  return sheet;
}

Sheet off_sheet(std::span<const Summary> all) {
  Sheet sheet{"Levels off",
              "One row a rater and distance from the key, over the scores that count and were given.",
              {{"rater", "Id of the rater"},
               {"levels_off", "score minus key in levels; above 0: too high"},
               {"scores", "How often"}},
              {}};
  for (const Summary& s : all)
    for (const OffCount& one : s.off)
      sheet.rows.push_back({s.rater.text(), static_cast<double>(one.levels), cell(one.times)});
  return sheet;
}

}  // namespace

Workbook competency_tables(std::span<const Summary> all, const AnswerKey& key, const Standard& standard,
                           const Provenance& from) {
  Workbook book{
      all.size() == 1 ? "Competency of rater " + all.front().rater.text() : "Competency of the group",
      from.date,
      {{"Instrument", from.instrument_title},
       {"Date", from.date},
       {"Standard", standard.title},
       {"Program", from.program},
       {"Command", from.command},
       {"Scores", from.scores_name},
       {"Scores, fingerprint", from.scores_fingerprint},
       {"Criteria and rulings, fingerprint", from.instrument_fingerprint},
       {"Standard, fingerprint", from.standard_fingerprint},
       {"Caution",
        "Educational evidence for an instructor's decision: no license, no diagnosis, no verdict on "
        "employment. A student or staff record: keep it under your institution's rules."},
       {"Blank cells", "No value: not asked, not given, or not defined; the report says why."}},
      {raters_sheet(all), looks_sheet(all), items_sheet(all, key), off_sheet(all), sittings_sheet(all),
       scores_sheet(all, key)}};
  for (auto& row : laid_over_rows(from)) book.about.push_back(std::move(row));
  if (Sheet control = control_sheet(all); !control.rows.empty()) book.sheets.push_back(std::move(control));
  if (Sheet slips = slips_sheet(all); !slips.rows.empty()) book.sheets.push_back(std::move(slips));
  if (Sheet met = met_before_sheet(from); !met.rows.empty()) book.sheets.push_back(std::move(met));
  return book;
}

}  // namespace evenhand::report
