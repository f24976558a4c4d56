#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/core.h>

#include "report/calibration_page.hpp"
#include "report/calibration_parts.hpp"
#include "report/calibration_words.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

constexpr std::size_t most_drawn = 40;  ///< raters in a picture, those farthest from their peers
constexpr std::size_t first_page_points = 4, first_page_raters = 6;

std::string share(const Estimate& e) { return percent_with_limits(e.estimate, e.lower, e.upper); }
std::string ratio(const Estimate& e) { return decimal_with_limits(e.estimate, e.lower, e.upper); }
std::string two_places(double number) { return decimal(number, 1); }
std::string in_points(double number) { return signed_decimal(number, 0); }

void add_row(PageData& rows, const std::vector<std::pair<std::string, std::string>>& cells) {
  PageData row;
  for (const auto& [name, value] : cells) row.set(name, value);
  rows << row;
}

void set_bool(PageData& page, const std::string& name, bool truth) {
  page.set(name, truth ? PageData::type::bool_true : PageData::type::bool_false);
}

void set_agreement(PageData& page, const Calibration& of) {
  const GroupAgreement& g = of.group;
  PageData rows = page_list();
  const auto add = [&](const std::string& what, const std::string& value, const std::string& how) {
    add_row(rows, {{"what", what}, {"value", value}, {"how", how}});
  };
  const auto points = [](const Estimate& e) { return decimal_with_limits(e.estimate, e.lower, e.upper, 1); };
  add("Total, one rater", ratio(g.icc.value),
      std::string(g.icc.form) + fmt::format("; {} totals", count(g.totals)));
  add("Total, mean of all raters", ratio(g.icc_mean.value), std::string(g.icc_mean.form));
  add("Item kappa, mean", ratio(g.kappa.value),
      std::string(g.kappa.form) + fmt::format("; {}", count_of(g.kappa_items, "item", "items")));
  add("Same score as the key", share(g.exact),
      fmt::format("{}, limits by case", count_of(g.scores, "score", "scores")));
  add("Within one level of the key", share(g.within_one), "limits by case");
  add("SEM of the total, points", points(g.sem), "agreement: raters and what is left");
  add("MDC95 of the total, points", points(g.mdc95), "1.96 × √2 × SEM; of scoring, not of children");
  add("Shift of the group, points", points_words(g.shift), "mean of scores less key, all raters");
  add("No score", count(g.no_score), "asked for, and not tested, refused, or blank");
  page.set("agreement", rows);
  page.set("confidence", fmt::format("{:g} %", 100 * of.options.confidence));
  Forest forest;
  for (const auto& [name, value] : {std::pair{"Total, one rater (ICC)", g.icc.value},
                                    {"Item kappa, mean", g.kappa.value},
                                    {"Same score as the key", g.exact},
                                    {"Within one level", g.within_one}})
    forest.rows.push_back({name, value});
  forest.range = {0.0, 1.0, 0.2, two_places};
  forest.finding = g.icc.value.estimate ? fmt::format("Agreement on the total {}, same score as the key {}.",
                                                      ratio(g.icc.value), share(g.exact))
                                        : std::string("Agreement on the total has no value.");
  page.set("agreement_chart", forest_plot(forest));
  page.set("agreement_caption", forest.finding + " Circle: estimate. Bar: its limits.");
  PageData thirds = page_list();
  for (const ThirdOfScale& third : g.sem_by_third)
    add_row(thirds, {{"range", decimal(third.from, 1) + " to " + decimal(third.to, 1)},
                     {"cases", count(third.cases)},
                     {"sem", points(third.sem)}});
  set_bool(page, "has_thirds", !g.sem_by_third.empty());
  page.set("thirds", thirds);
}

void set_differences(PageData& page, const CalibrationPictures& pictures) {
  set_bool(page, "has_differences", !pictures.totals.empty());
  if (pictures.totals.empty()) return;
  struct Row {
    std::size_t times = 0;
    double sum = 0, lowest = 1e9, highest = -1e9;
  };
  std::map<double, Row> by_total;
  double n = 0, sum = 0, squares = 0;
  PageData rows = page_list();
  for (const DifferencePoint& point : pictures.totals) {
    const auto times = static_cast<double>(point.times);
    n += times;
    sum += times * point.difference;
    Row& row = by_total[point.at];
    row.times += point.times;
    row.sum += times * point.difference;
    row.lowest = std::min(row.lowest, point.difference);
    row.highest = std::max(row.highest, point.difference);
  }
  for (const auto& [at, row] : by_total)
    add_row(rows, {{"at", decimal(at, 1)},
                   {"times", count(row.times)},
                   {"mean", signed_decimal(row.sum / static_cast<double>(row.times), 1)},
                   {"lowest", signed_decimal(row.lowest, 1)},
                   {"highest", signed_decimal(row.highest, 1)}});
  for (const DifferencePoint& point : pictures.totals)
    squares += static_cast<double>(point.times) * std::pow(point.difference - sum / n, 2);
  Differences plot;
  plot.points = pictures.totals;
  plot.bias = sum / n;
  if (n > 1) {
    const double sd = std::sqrt(squares / (n - 1));
    plot.lower = *plot.bias - 1.96 * sd;
    plot.upper = *plot.bias + 1.96 * sd;
  }
  plot.across = "total of the key";
  plot.along = "score less key, points";
  plot.finding =
      fmt::format("Totals lie {} points from the key on average{}.", signed_decimal(*plot.bias, 1),
                  plot.lower ? fmt::format("; 95 of 100 between {} and {}", signed_decimal(*plot.lower, 1),
                                           signed_decimal(*plot.upper, 1))
                             : std::string());
  page.set("differences_chart", difference_plot(plot));
  page.set("differences_caption",
           plot.finding +
               fmt::format(" {} totals of all raters; the area of a circle tells how many. The dashed lines "
                           "(mean less and plus 1.96 SD) describe these raters and cases together; they are "
                           "no limits of a "
                           "single rater.",
                           count(static_cast<std::size_t>(n))));
  page.set("differences", rows);
}

void set_rounds(PageData& page, const Calibration& of) {
  PageData rows = page_list();
  Curve curve;
  double lowest = 0.5;
  for (const RoundPoint& each : of.rounds) {
    const std::string name = each.round.empty() ? "this one" : each.round.text();
    add_row(rows, {{"round", name},
                   {"raters", count(each.raters)},
                   {"cases", count(each.cases)},
                   {"exact", share(each.exact)},
                   {"shift", points_words(each.shift)},
                   {"icc", ratio(each.icc.value)},
                   {"linking", each.link == Link::first ? no_value : count(each.common_cases)},
                   {"flagged", each.link == Link::common_cases ? count(each.flagged) : no_value}});
    curve.points.push_back({name, each.exact, each.round == of.round});
    if (each.exact.lower) lowest = std::min(lowest, *each.exact.lower);
  }
  curve.range = {lowest < 0.5 ? 0.0 : 0.5, 1.0, lowest < 0.5 ? 0.2 : 0.1, percent};
  curve.marks = {of.options.not_acceptable};
  curve.finding =
      of.rounds.size() < 2
          ? fmt::format("One round so far: same score as the key in {}.", share(of.rounds.back().exact))
          : fmt::format("Same score as the key from {} in the first of {} rounds to {} now.",
                        share(of.rounds.front().exact), of.rounds.size(), share(of.rounds.back().exact));
  page.set("rounds_chart", curve_plot(curve));
  page.set("rounds_caption",
           curve.finding + fmt::format(" Dashed: {}. Rounds of other cases are not the same test.",
                                       percent(of.options.not_acceptable)));
  page.set("rounds", rows);
  std::vector<std::string> since;
  if (of.since) {
    const SinceLast& s = *of.since;
    since.push_back(fmt::format("Since {}: {} joined, {} left, {} in both, on {} that both rounds have.",
                                s.before.text(), count(s.joined.size()), count(s.left.size()),
                                count_of(s.common_raters, "rater", "raters"),
                                count_of(s.common_cases, "case", "cases")));
    if (s.group_shift.estimate)
      since.push_back("The group's own change against the key: " + points_words(s.group_shift) +
                      " points. Raters who drift together show here only.");
    for (const auto& key : s.keys)
      since.push_back(fmt::format("Key changed: {}, item {}: {} before, {} now.", key.case_id.text(),
                                  of.items[key.item].text(), key.before.empty() ? "none" : key.before,
                                  key.after.empty() ? "none" : key.after));
  }
  page.set("since", texts(since));
}

void set_items(PageData& page, const Calibration& of, const CalibrationView& view) {
  PageData rows = page_list();
  Forest forest;
  std::string standing;
  for (const ItemAgreement& each : of.by_item) {
    const std::string note = each.misread      ? "missed more than the others, one way: looks misread"
                             : each.stands_out ? "missed more than the others"
                                               : "";
    const auto& d = each.against_key;
    add_row(rows, {{"item", view.item(each.item)},
                   {"n", count(each.counted)},
                   {"missed", share(each.missed_share)},
                   {"error", points_words(each.signed_error, 2)},
                   {"within", share(d.within_one)},
                   {"icc", ratio(each.icc.value)},
                   {"note", note}});
    forest.rows.push_back({view.item(each.item), each.missed_share, each.stands_out});
    if (each.stands_out) standing += (standing.empty() ? "" : ", ") + of.items[each.item].text();
  }
  forest.range = {0.0, 1.0, 0.2, percent};
  forest.finding = standing.empty() ? "No item is missed clearly more often than the others."
                                    : "Missed clearly more often than the others: " + standing + ".";
  page.set("items", rows);
  page.set("items_chart", forest_plot(forest));
  page.set(
      "items_caption",
      forest.finding +
          " Share of scores that differ from a settled key, with its limits by case; filled: stands out.");
}

/// Those farthest from their peers, at most so many, in the order of severity.
std::vector<std::size_t> drawn_raters(const Calibration& of) {
  const auto distance = [&](std::size_t r) {
    const auto& value = of.raters[r].against_peers.estimate;
    return value ? *value : 0.0;
  };
  std::vector<std::size_t> order;
  for (std::size_t r = 0; r < of.raters.size(); ++r) order.push_back(r);
  std::ranges::stable_sort(order, std::greater{}, [&](std::size_t r) { return std::abs(distance(r)); });
  if (order.size() > most_drawn) order.resize(most_drawn);
  std::ranges::stable_sort(order, {}, distance);
  return order;
}

void set_raters(PageData& page, const Calibration& of, const CalibrationPictures& pictures) {
  PageData rows = page_list();
  for (const RaterOfRound& each : of.raters)
    add_row(rows,
            {{"rater", each.rater.text()},
             {"cases", count(each.cases)},
             {"exact", share(each.exact)},
             {"key", points_words(each.against_key)},
             {"peers", points_words(each.against_peers)},
             {"drift", each.drift ? points_words(each.drift->change) + (each.drift->flagged ? " drift" : "")
                                  : no_value}});
  page.set("raters", rows);
  const auto drawn = drawn_raters(of);
  const std::string some = drawn.size() < of.raters.size()
                               ? fmt::format(" Shown: the {} of {} farthest from their peers.", drawn.size(),
                                             count(of.raters.size()))
                               : std::string();
  Forest forest;
  HeatMap map;
  std::vector<double> ends;
  for (const std::size_t r : drawn) {
    const RaterOfRound& each = of.raters[r];
    forest.rows.push_back({each.rater.text(), each.against_peers, !each.talk.empty()});
    for (const auto* end :
         {&each.against_peers.estimate, &each.against_peers.lower, &each.against_peers.upper})
      if (*end) ends.push_back(**end);
    map.rows.push_back(each.rater.text());
    map.cells.push_back(pictures.error_by_item.at(r));
  }
  ends.push_back(-of.options.margin);
  ends.push_back(of.options.margin);
  forest.range = range_around(ends, in_points);
  forest.band = {-of.options.margin, of.options.margin};
  forest.marks = {0.0};
  forest.finding = fmt::format("{} of {} have something to talk about.", count(of.talk_with.size()),
                               count_of(of.raters.size(), "rater", "raters"));
  page.set("raters_chart", forest_plot(forest));
  page.set("raters_caption", forest.finding +
                                 fmt::format(" Severity: scores less those of the peers on the same cases, "
                                             "points of the total, with limits. "
                                             "Gray: within {:g} points. Filled: to talk with.",
                                             of.options.margin) +
                                 some);
  for (const ItemId& item : of.items) map.columns.push_back(item.text());
  map.finding = "Mean error of each rater on each item, in levels: score less key.";
  page.set("map_chart", heat_map(map));
  page.set(
      "map_caption",
      map.finding +
          fmt::format(
              " Bar at the upper edge: too high, at the lower: too low, from {:g} levels on; bold from {:g}.",
              map.slight, map.strong) +
          some);
  PageData heads = page_list(), map_rows = page_list();
  for (const ItemId& item : of.items) heads << PageData{item.text()};
  for (std::size_t r = 0; r < of.raters.size(); ++r) {
    PageData cells = page_list(), row;
    for (const auto& value : pictures.error_by_item.at(r))
      cells << PageData{value ? signed_decimal(*value) : std::string(no_value)};
    row.set("rater", of.raters[r].rater.text());
    row.set("cells", cells);
    map_rows << row;
  }
  page.set("map_heads", heads);
  page.set("map_rows", map_rows);
  FunnelPlot funnel;
  for (const std::size_t r : drawn) {
    const auto& point = of.raters[r].funnel;
    if (point.mean && point.inner_upper && point.outer_upper && of.funnel.center)
      funnel.dots.push_back({of.raters[r].rater.text(), point.cases, *point.mean,
                             *point.inner_upper - *of.funnel.center, *point.outer_upper - *of.funnel.center,
                             point.outside_outer});
  }
  set_bool(page, "has_funnel", !funnel.dots.empty());
  if (funnel.dots.empty()) return;
  funnel.center = *of.funnel.center;
  std::size_t outside = 0;
  for (const auto& each : of.raters) outside += each.funnel.outside_outer;
  funnel.finding = fmt::format("{} of {} lie outside the outer limits.", count(outside),
                               count_of(of.raters.size(), "rater", "raters"));
  page.set("funnel_chart", funnel_plot(funnel));
  page.set(
      "funnel_caption",
      funnel.finding +
          fmt::format(
              " Mean error against the {}; lines: 95 and 99.8 % limits for a rater who is like the others.",
              of.funnel_against_peers ? "peers" : "key") +
          some);
}

void set_grras(PageData& page, const About& about) {
  PageData rows = page_list();
  for (const GrrasPoint& point : grras_points()) {
    PageData row;
    row.set("number", point.number <= 15 ? std::to_string(point.number) : std::string("and"));
    row.set("asks", std::string(point.asks));
    row.set("answered", std::string(point.answered));
    if (!point.anchor.empty()) row.set("anchor", std::string(point.anchor));
    const auto said = about.find(std::string(point.field));
    if (said != about.end()) row.set("said", said->second);
    set_bool(row, "empty", said == about.end() && !point.field.empty());
    row.set("field", std::string(point.field));
    rows << row;
  }
  page.set("grras", rows);
}

void set_first_page(PageData& page, const Calibration& of, const CalibrationView& view) {
  auto answer = calibration_answer(of);
  page.set("headline", answer.empty() ? std::string() : answer.front());
  if (!answer.empty()) answer.erase(answer.begin());
  page.set("answer", texts(answer));
  std::vector<std::string> notices;
  for (const auto caution : of.group.cautions) notices.emplace_back(caution);
  set_bool(page, "has_notices", !notices.empty());
  page.set("notices", texts(notices));
  set_bool(page, "names", view.names());
  PageData talk = page_list(), points = page_list();
  for (std::size_t i = 0; i < std::min(first_page_raters, of.talk_with.size()); ++i) {
    const RaterOfRound& rater = of.raters[of.talk_with[i]];
    std::string words;
    for (const Talk& each : rater.talk) words += (words.empty() ? "" : "; ") + talk_words(each);
    add_row(talk, {{"rater", rater.rater.text()}, {"words", words}});
  }
  if (of.talk_with.size() > first_page_raters)
    page.set("talk_more", fmt::format("And {} more: bold in the picture under “Rater by rater”.",
                                      count(of.talk_with.size() - first_page_raters)));
  set_bool(page, "has_talk", !of.talk_with.empty());
  page.set("talk", talk);
  const bool any = !view.no_agenda() && !of.agenda.points.empty();
  for (std::size_t i = 0; any && i < std::min(first_page_points, of.agenda.points.size()); ++i) {
    const AgendaPoint& each = of.agenda.points[i];
    add_row(points, {{"case", each.case_id.text()},
                     {"item", view.item(each.item)},
                     {"key", each.key ? of.categories[*each.key] : no_value},
                     {"given", view.given(each)},
                     {"spread", each.spread ? decimal(*each.spread) : no_value}});
  }
  set_bool(page, "has_points", any);
  page.set("points", points);
  page.set("no_points", view.no_agenda() ? "Left out: the group is small, and names could be told."
                                         : "Nothing: every case-item was scored alike.");
  page.set("agenda_words", fmt::format("Of {}, {} scored alike by all. Largest spread first.",
                                       count_of(of.agenda.case_items, "case-item", "case-items"),
                                       count(of.agenda.all_agree)));
}

}  // namespace

std::string calibration_html(const Calibration& of, const CalibrationFrame& frame,
                             const CalibrationPictures& pictures, const About& about) {
  const CalibrationView view(of, frame);
  PageData page;
  page.set("round_title", view.round_title());
  page.set("instrument", frame.from.instrument_title);
  page.set("date", frame.from.date);
  page.set("scored", view.scored());
  set_first_page(page, of, view);
  set_agreement(page, of);
  set_differences(page, view.names() || !of.small_group ? pictures : CalibrationPictures{});
  set_rounds(page, of);
  set_items(page, of, view);
  if (view.names()) set_raters(page, of, pictures);
  std::vector<std::string> suspects;
  if (!view.no_agenda())
    for (const SuspectKey& each : of.suspect_keys)
      suspects.push_back(fmt::format("{}, item {}: {}.", each.case_id.text(), view.item(each.item),
                                     suspect_words(each, of)));
  set_bool(page, "has_suspects", !suspects.empty());
  page.set("suspects", texts(suspects));
  set_grras(page, about);
  page.set("methods", texts(calibration_methods(of)));
  page.set("command", frame.from.command);
  page.set("provenance", view.provenance());
  return rendered_page("calibration/report.html", page);
}

}  // namespace evenhand::report
