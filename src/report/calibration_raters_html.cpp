#include <algorithm>
#include <cmath>
#include <functional>

#include <fmt/core.h>

#include "report/calibration_sections.hpp"
#include "report/calibration_words.hpp"
#include "report/plots.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

constexpr std::size_t most_drawn = 40;  ///< raters in a picture, those farthest from their peers

std::string in_points(double number) { return signed_decimal(number, 0); }

std::string talk_kinds(const RaterOfRound& rater) {
  std::string text;
  for (const Talk& each : rater.talk) text += (text.empty() ? "" : ", ") + std::string(talk_kind(each.about));
  return text;
}

/// Those to talk with, then those farthest from their peers, at most so many, in the order of severity.
std::vector<std::size_t> drawn_raters(const Calibration& of) {
  const auto distance = [&](std::size_t r) {
    const auto& value = of.raters[r].against_peers.estimate;
    return value ? *value : 0.0;
  };
  std::vector<std::size_t> order;
  for (std::size_t r = 0; r < of.raters.size(); ++r) order.push_back(r);
  std::ranges::stable_sort(order, std::greater{}, [&](std::size_t r) {
    return std::pair(!of.raters[r].talk.empty(), std::abs(distance(r)));
  });
  if (order.size() > most_drawn) order.resize(most_drawn);
  std::ranges::stable_sort(order, {}, distance);
  return order;
}

std::string some_words(std::size_t drawn, std::size_t all) {
  if (drawn == all) return "";
  return fmt::format(" Shown: {} of {} raters, those to talk with and those farthest from their peers.",
                     drawn, count(all));
}

void set_table(PageData& page, const Calibration& of) {
  PageData rows = page_list();
  for (const RaterOfRound& each : of.raters)
    add_row(rows, {{"rater", each.rater.text()},
                   {"cases", count(each.cases)},
                   {"exact", share_words(each.exact)},
                   {"key", points_words(each.against_key)},
                   {"peers", points_words(each.against_peers)},
                   {"drift", each.drift ? points_words(each.drift->change) : no_value},
                   {"talk", talk_kinds(each)}});
  page.set("raters", rows);
}

void set_severity(PageData& page, const Calibration& of, const std::vector<std::size_t>& drawn) {
  Forest forest;
  std::vector<double> ends{-of.options.margin, of.options.margin};
  for (const std::size_t r : drawn) {
    const RaterOfRound& each = of.raters[r];
    forest.rows.push_back({each.rater.text(), each.against_peers, !each.talk.empty()});
    for (const auto* end :
         {&each.against_peers.estimate, &each.against_peers.lower, &each.against_peers.upper})
      if (*end) ends.push_back(**end);
  }
  forest.range = range_around(ends, in_points);
  forest.band = {-of.options.margin, of.options.margin};
  forest.marks = {0.0};
  forest.finding =
      fmt::format("{} of {} {} something to talk about.", count(of.talk_with.size()),
                  count_of(of.raters.size(), "rater", "raters"), of.talk_with.size() == 1 ? "has" : "have");
  page.set("raters_chart", forest_plot(forest));
  page.set("raters_caption", forest.finding +
                                 fmt::format(" Severity: scores less those of the peers on the same cases, "
                                             "points of the total, with limits. "
                                             "Gray: within {:g} points. Filled: to talk with.",
                                             of.options.margin) +
                                 some_words(drawn.size(), of.raters.size()));
}

void set_map(PageData& page, const Calibration& of, const std::vector<std::size_t>& drawn) {
  set_bool(page, "has_map", of.has_key);
  if (!of.has_key) return;
  HeatMap map;
  PageData heads = page_list(), rows = page_list();
  for (const ItemId& item : of.items) {
    map.columns.push_back(item.text());
    heads << PageData{item.text()};
  }
  for (const std::size_t r : drawn) {
    map.rows.push_back(of.raters[r].rater.text());
    auto& cells = map.cells.emplace_back();
    for (const ErrorOnItem& each : of.error_by_item[r]) cells.push_back(each.mean);
  }
  map.finding = "Mean error of each rater on each item, in levels: score less settled key.";
  page.set("map_chart", heat_map(map));
  page.set(
      "map_caption",
      map.finding +
          fmt::format(
              " Bar at the upper edge: too high, at the lower: too low, from {:g} levels on; bold from {:g}.",
              map.slight, map.strong) +
          some_words(drawn.size(), of.raters.size()));
  for (std::size_t r = 0; r < of.raters.size(); ++r) {
    PageData cells = page_list(), row;
    for (const ErrorOnItem& each : of.error_by_item[r])
      cells << PageData{each.mean ? fmt::format("{} ({})", signed_decimal(*each.mean), each.n)
                                  : std::string(no_value)};
    row.set("rater", of.raters[r].rater.text());
    row.set("cells", cells);
    rows << row;
  }
  page.set("map_heads", heads);
  page.set("map_rows", rows);
}

void set_funnel(PageData& page, const Calibration& of, const std::vector<std::size_t>& drawn) {
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
  funnel.finding = fmt::format("{} of {} {} outside the outer limits.", count(outside),
                               count_of(of.raters.size(), "rater", "raters"), outside == 1 ? "lies" : "lie");
  page.set("funnel_chart", funnel_plot(funnel));
  page.set(
      "funnel_caption",
      funnel.finding +
          fmt::format(
              " Mean error against the {}; lines: 95 and 99.8 % limits for a rater who is like the others.",
              of.funnel_against_peers ? "peers" : "key") +
          some_words(drawn.size(), of.raters.size()));
}

}  // namespace

void set_rater_sections(PageData& page, const Calibration& of) {
  const auto drawn = drawn_raters(of);
  set_table(page, of);
  set_severity(page, of, drawn);
  set_map(page, of, drawn);
  set_funnel(page, of, drawn);
}

}  // namespace evenhand::report
