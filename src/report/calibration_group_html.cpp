#include <algorithm>

#include <fmt/core.h>

#include "report/calibration_sections.hpp"
#include "report/calibration_words.hpp"
#include "report/plots.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

std::string one_place(double number) { return decimal(number, 1); }
std::string plain_points(const Estimate& e) { return decimal_with_limits(e.estimate, e.lower, e.upper, 1); }

void set_agreement(PageData& page, const Calibration& of) {
  const GroupAgreement& g = of.group;
  PageData rows = page_list();
  const auto add = [&](const std::string& what, const std::string& value, const std::string& how) {
    add_row(rows, {{"what", what}, {"value", value}, {"how", how}});
  };
  add("Raters, cases", fmt::format("{}, {}", count(g.raters), count(g.cases)),
      "who took part; one score of a rater for a case-item counts in a round");
  add("Scores given", count(g.scores), count_of(g.items, "item", "items"));
  add("No score", count(g.no_score), "asked for, and not tested, refused, or blank");
  add("Total, one rater", ratio_words(g.icc.value),
      std::string(g.icc.form) +
          fmt::format("; {} totals{}", count(g.totals), g.scaled ? ", half cases scaled" : ""));
  add("Total, mean of all raters", ratio_words(g.icc_mean.value), std::string(g.icc_mean.form));
  add("Item kappa, mean", ratio_words(g.kappa.value),
      std::string(g.kappa.form) + fmt::format("; {}", count_of(g.kappa_items, "item", "items")));
  add("Same score as the key", share_words(g.exact), "of settled keys, blanks as misses; limits by case");
  add("Within one level of the key", share_words(g.within_one), "limits by case");
  add("SEM of the total, points", plain_points(g.sem), "agreement: raters and what is left");
  add("MDC95 of the total, points", plain_points(g.mdc95), "1.96 × √2 × SEM; of scoring, not of children");
  add("Shift of the group, points", points_words(g.shift), "mean of scores less key, all raters");
  page.set("agreement", rows);
  page.set("confidence", fmt::format("{:g} %", 100 * of.options.confidence));
  Forest forest;
  for (const auto& [name, value] : {std::pair{"Total, one rater (ICC)", g.icc.value},
                                    {"Item kappa, mean", g.kappa.value},
                                    {"Same score as the key", g.exact},
                                    {"Within one level", g.within_one}})
    forest.rows.push_back({name, value});
  forest.range = {0.0, 1.0, 0.2, one_place};
  forest.finding = g.icc.value.estimate ? "Agreement on the total " + ratio_words(g.icc.value)
                                        : "Agreement on the total has no value";
  forest.finding += of.has_key ? fmt::format(", same score as the key {}.", share_words(g.exact)) : ".";
  page.set("agreement_chart", forest_plot(forest));
  page.set("agreement_caption", forest.finding + " Circle: estimate. Bar: its limits.");
  PageData thirds = page_list();
  for (const ThirdOfScale& third : g.sem_by_third)
    add_row(thirds, {{"range", decimal(third.from, 1) + " to " + decimal(third.to, 1)},
                     {"cases", count(third.cases)},
                     {"sem", plain_points(third.sem)}});
  set_bool(page, "has_thirds", !g.sem_by_third.empty());
  page.set("thirds", thirds);
}

std::string difference_picture(const Calibration& of, const std::string& finding) {
  const TotalDifferences& all = of.differences;
  Differences plot;
  for (const DifferenceAt& each : all.points) plot.points.push_back({each.key, each.difference, each.times});
  plot.bias = all.mean.estimate;
  plot.lower = all.lower.estimate;
  plot.upper = all.upper.estimate;
  plot.across = "total of the key";
  plot.along = "score less key, points";
  plot.finding = finding;
  return difference_plot(plot);
}

void set_differences(PageData& page, const Calibration& of, const Shown& shown) {
  const TotalDifferences& all = of.differences;
  set_bool(page, "has_differences", all.totals > 0);
  if (all.totals == 0) return;
  PageData rows = page_list();
  for (std::size_t i = 0; i < all.by_total.size(); ++i) {
    const DifferencesAtTotal& at = all.by_total[i];
    PageData row;
    row.set("at", decimal(at.key, 1));
    row.set("cases", count(at.cases));
    row.set("times", count(at.totals));
    row.set("mean", shown.total(i) ? signed_decimal(at.mean, 1) : left_out_few);
    set_bool(row, "ends", shown.names());
    row.set("lowest", signed_decimal(at.lowest, 1));
    row.set("highest", signed_decimal(at.highest, 1));
    rows << row;
  }
  std::string finding = fmt::format("Totals lie {} points from the key on average", points_words(all.mean));
  if (all.lower.estimate && all.upper.estimate)
    finding += fmt::format("; 95 of 100 between {} and {}", points_words(all.lower), points_words(all.upper));
  finding += ".";
  // In the picture each circle is a rater's total: not for who may not see names.
  set_bool(page, "has_picture", shown.names());
  if (shown.names()) page.set("differences_chart", difference_picture(of, finding));
  page.set(
      "differences_caption",
      finding + fmt::format(" {} totals of all raters, {}{}. The bounds of 95 of 100 (mean less and plus "
                            "1.96 SD{}) describe these raters and cases together; they are no limits of a "
                            "single rater.",
                            count(all.totals), count_of(all.cases, "case", "cases"),
                            shown.names() ? "; the area of a circle tells how many" : "",
                            shown.names() ? ", dashed" : ""));
  page.set("differences", rows);
}

std::vector<std::string> since_words(const Calibration& of, const Shown& shown) {
  std::vector<std::string> since;
  if (!of.since) return since;
  const SinceLast& s = *of.since;
  since.push_back(fmt::format("Since {}: {} joined, {} left, {} in both, on {} that both rounds have.",
                              s.before.text(), count(s.joined.size()), count(s.left.size()),
                              count_of(s.common_raters, "rater", "raters"),
                              count_of(s.common_cases, "case", "cases")));
  if (shown.change() && s.group_shift.estimate)
    since.push_back("The group's own change against the key: " + points_words(s.group_shift) +
                    " points. Raters who drift together show here only.");
  for (const auto& key : s.keys) since.push_back(key_change_words(key, of));
  return since;
}

void set_rounds(PageData& page, const Calibration& of, const Shown& shown) {
  PageData rows = page_list();
  Curve curve;
  double lowest = 0.5;
  const RoundPoint* first = nullptr;
  const RoundPoint* last = nullptr;
  for (const RoundPoint& each : of.rounds) {
    const std::string name = each.round.empty() ? "this one" : each.round.text();
    const bool seen = shown.round(each);
    add_row(rows, {{"round", name},
                   {"raters", count(each.raters)},
                   {"cases", count(each.cases)},
                   {"exact", seen ? share_words(each.exact) : left_out_few},
                   {"shift", seen ? points_words(each.shift) : left_out_few},
                   {"icc", seen ? ratio_words(each.icc.value) : left_out_few},
                   {"linking", each.link == Link::first ? no_value : count(each.common_cases)},
                   {"flagged", each.link != Link::common_cases ? no_value
                               : seen && shown.flagged(each)   ? count(each.flagged)
                                                               : left_out_few}});
    if (!seen) continue;
    curve.points.push_back({name, each.exact, each.round == of.round});
    if (each.exact.lower) lowest = std::min(lowest, *each.exact.lower);
    if (!each.exact.estimate) continue;
    if (first == nullptr) first = &each;
    last = &each;
  }
  set_bool(page, "has_rounds_chart", last != nullptr);
  if (last != nullptr) {
    curve.range = {lowest < 0.5 ? 0.0 : 0.5, 1.0, lowest < 0.5 ? 0.2 : 0.1, percent};
    curve.marks = {of.options.not_acceptable};
    curve.finding =
        of.rounds.size() < 2
            ? fmt::format("One round so far: same score as the key in {}.", share_words(last->exact))
        : first == last ? fmt::format("Same score as the key in {}.", share_words(last->exact))
                        : fmt::format("Same score as the key from {} in {} to {} in {}, over {} rounds.",
                                      share_words(first->exact), first->round.text(),
                                      share_words(last->exact), last->round.text(), of.rounds.size());
    page.set("rounds_chart", curve_plot(curve));
    page.set("rounds_caption",
             curve.finding + fmt::format(" Dashed: {}. Rounds of other cases are not the same test.",
                                         percent(of.options.not_acceptable)));
  }
  page.set("rounds", rows);
  page.set("since", texts(since_words(of, shown)));
}

void set_items(PageData& page, const Calibration& of, const CalibrationView& view) {
  PageData rows = page_list();
  Forest forest;
  std::string standing;
  for (const ItemAgreement& each : of.by_item) {
    const bool seen = view.shown().item(each.item);
    const auto cell = [&](std::string text) { return seen ? std::move(text) : std::string(left_out_few); };
    add_row(rows, {{"item", view.item(each.item)},
                   {"n", count(each.counted)},
                   {"missed", cell(share_words(each.missed_share))},
                   {"error", cell(points_words(each.signed_error, 2))},
                   {"within", cell(share_words(each.within_one))},
                   {"icc", cell(ratio_words(each.icc.value))},
                   {"note", seen ? item_note(each) : ""}});
    if (seen) forest.rows.push_back({view.item(each.item), each.missed_share, each.stands_out});
    if (each.stands_out) standing += (standing.empty() ? "" : ", ") + of.items[each.item].text();
  }
  page.set("items", rows);
  set_bool(page, "has_items_chart", of.has_key && !forest.rows.empty());
  if (!of.has_key) {
    page.set("items_words", "There is no key: items could not be screened.");
    return;
  }
  if (forest.rows.empty()) return;
  forest.range = {0.0, 1.0, 0.2, percent};
  forest.finding = standing.empty() ? "No item is missed clearly more often than the others."
                                    : "Missed clearly more often than the others: " + standing + ".";
  page.set("items_chart", forest_plot(forest));
  page.set("items_caption",
           forest.finding +
               " Share of scores that differ from a settled key, with its limits by case; filled: "
               "stands out.");
}

}  // namespace

void set_group_sections(PageData& page, const Calibration& of, const CalibrationView& view) {
  set_agreement(page, of);
  set_differences(page, of, view.shown());
  set_rounds(page, of, view.shown());
  set_items(page, of, view);
}

}  // namespace evenhand::report
