#include <algorithm>
#include <cstdlib>

#include <fmt/core.h>

#include "base/time.hpp"
#include "report/calibration_parts.hpp"
#include "report/competency_sections.hpp"
#include "report/competency_words.hpp"
#include "report/plots.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace competency;

std::string in_points(double number) { return signed_decimal(number, 0); }
std::string in_tenths(double number) { return signed_decimal(number, 1); }

/// Sittings have no names that people know: the day, else the round.
std::string day_of(const SittingPoint& point) {
  if (point.at) return base::to_date(*point.at);
  return point.round.empty() ? std::string(no_value) : point.round.text();
}

std::string share_of(const agreement::Estimate& e) {
  return percent_with_limits(e.estimate, e.lower, e.upper);
}

std::string signed_of(const agreement::Estimate& e, int places) {
  if (!e.estimate) return no_value;
  return signed_decimal(*e.estimate, places) + limits_in_brackets(e.lower, e.upper, [places](double limit) {
           return signed_decimal(limit, places);
         });
}

void set_sittings(PageData& page, const Course& course) {
  PageData rows = page_list();
  for (std::size_t i = 0; i < course.sittings.size(); ++i) {
    const SittingPoint& one = course.sittings[i];
    add_row(rows,
            {{"number", std::to_string(i + 1)},
             {"round", one.round.empty() ? no_value : one.round.text()},
             {"day", one.at ? base::to_date(*one.at) : no_value},
             {"cases", count(one.cases)},
             {"right", fmt::format("{} of {}", one.right, one.scores)},
             {"share", share_of(one.share)},
             {"points", signed_of(one.points, 1)},
             {"watch", one.watch.readings > 0
                           ? fmt::format("{} s, n = {}", signed_of(one.watch.mean, 2), one.watch.readings)
                           : std::string(no_value)}});
  }
  page.set("sittings", rows);
}

void set_learning_curve(PageData& page, const Course& course, const Standard& standard) {
  std::vector<const SittingPoint*> with_value;
  for (const SittingPoint& one : course.sittings)
    if (one.share.estimate) with_value.push_back(&one);
  set_bool(page, "has_curve", with_value.size() > 1);
  page.set("curve_words", learning_words(course));
  if (with_value.size() < 2) return;
  Curve curve;
  double lowest = 0.5;
  for (const SittingPoint* one : with_value) {
    curve.points.push_back({day_of(*one), one->share, one == with_value.back(), {}, {}, {}});
    for (const auto* value : {&one->share.estimate, &one->share.lower})
      if (*value) lowest = std::min(lowest, **value);
  }
  curve.range = {lowest < 0.5 ? 0.0 : 0.5, 1.0, lowest < 0.5 ? 0.2 : 0.1, percent};
  curve.marks = {standard.not_acceptable, standard.competent};
  curve.finding = learning_words(course);
  page.set("curve_chart", curve_plot(curve));
  page.set(
      "curve_caption",
      fmt::format("Circle: share of scores equal to the key in a sitting. Bar: its 95 % limits, by case. "
                  "Dashed: {} and {}. Only cases met for the first time count, and sittings hold "
                  "different cases: a harder set looks like a worse rater.",
                  percent(standard.not_acceptable), percent(standard.competent)));
}

void set_watch(PageData& page, const Course& course) {
  page.set("watch_words", watch_words(course.watch));
  std::vector<const SittingPoint*> timed;
  for (const SittingPoint& one : course.sittings)
    if (one.watch.mean.estimate) timed.push_back(&one);
  set_bool(page, "has_watch_chart", timed.size() > 1);
  if (timed.size() < 2) return;
  Curve curve;
  std::vector<double> ends;
  for (const SittingPoint* one : timed) {
    const auto& mean = one->watch.mean;
    curve.points.push_back({day_of(*one), mean, one == timed.back(), {}, {}, {}});
    for (const auto* value : {&mean.estimate, &mean.lower, &mean.upper})
      if (*value) ends.push_back(**value);
  }
  curve.range = range_around(ends, in_tenths, 0.0, 0.4);
  curve.marks = {0.0};
  curve.finding = watch_words(course.watch);
  page.set("watch_chart", curve_plot(curve));
  page.set("watch_caption",
           "Stopwatch reading less the true time, seconds, mean of a sitting with its 95 % limits by case.");
}

void set_control(PageData& page, const Course& course) {
  const ControlChart& chart = course.control;
  set_bool(page, "has_control", !chart.points.empty());
  page.set("control_words", control_words(chart));
  if (chart.points.empty()) return;
  Curve curve;
  PageData rows = page_list();
  std::vector<double> ends;
  for (const ControlPoint& one : chart.points) {
    curve.points.push_back({.label = one.id.text(),
                            .value = {one.average, agreement::not_asked, agreement::not_asked, {}, false},
                            .strong = one.signal,
                            .lower = one.lower,
                            .upper = one.upper,
                            .beside = one.error});
    for (const double end : {one.error, one.average, one.lower, one.upper}) ends.push_back(end);
    add_row(rows, {{"case", one.id.text()},
                   {"error", signed_decimal(one.error, 1)},
                   {"average", signed_decimal(one.average)},
                   {"limits", fmt::format("{} to {}", signed_decimal(one.lower), signed_decimal(one.upper))},
                   {"signal", one.signal ? "outside" : ""}});
  }
  curve.range = range_around(ends, in_points, 0.0, 2.0);
  curve.marks = {0.0};
  curve.finding = control_words(chart);
  page.set("control_chart", curve_plot(curve));
  page.set("control_caption", control_caption(chart));
  page.set("control", rows);
}

}  // namespace

void set_course(PageData& page, const Summary& s, const Standard& standard) {
  set_sittings(page, s.course);
  set_learning_curve(page, s.course, standard);
  set_watch(page, s.course);
  set_control(page, s.course);
  set_off(page, s.off);
}

void set_off(PageData& page, const std::vector<OffCount>& off) {
  set_bool(page, "has_off", !off.empty());
  if (off.empty()) return;
  const int most = std::max({2, std::abs(off.front().levels), std::abs(off.back().levels)});
  Distribution strip;
  PageData heads = page_list(), cells = page_list();
  for (int levels = -most; levels <= most; ++levels) {
    const auto found = std::ranges::find(off, levels, &OffCount::levels);
    const std::size_t times = found == off.end() ? 0 : found->times;
    strip.levels.push_back(in_points(levels));
    strip.times.emplace_back(times);
    heads << PageData{in_points(levels)};
    cells << PageData{count(times)};
  }
  strip.key = static_cast<std::size_t>(most);
  strip.finding = off_words(off);
  page.set("off_chart", distribution_strip(strip));
  page.set("off_caption", strip.finding);
  page.set("off_heads", heads);
  page.set("off_cells", cells);
}

}  // namespace evenhand::report
