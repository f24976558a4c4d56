#include "report/plots.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/svg.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

constexpr double width = 720;

/// Numbers as places on the page.
struct Scale {
  double from, to, first, last;

  double at(double number) const {
    return first +
           (std::clamp(number, std::min(from, to), std::max(from, to)) - from) / (to - from) * (last - first);
  }
};

std::vector<double> marks_of(const Range& range) {
  std::vector<double> marks;
  const auto n = static_cast<int>(std::floor((range.to - range.from) / range.step + 1e-9));
  for (int i = 0; i <= n; ++i) marks.push_back(range.from + i * range.step);
  return marks;
}

void draw_across(Svg& svg, const Range& range, const Scale& scale, double bottom) {
  svg.line(scale.first, bottom, scale.last, bottom, "axis");
  for (const double mark : marks_of(range)) {
    svg.line(scale.at(mark), bottom, scale.at(mark), bottom + 4, "axis");
    svg.text(scale.at(mark), bottom + 17, range.write(mark), "middle", "small");
  }
}

void draw_up(Svg& svg, const Range& range, const Scale& scale, double left) {
  svg.line(left, scale.first, left, scale.last, "axis");
  for (const double mark : marks_of(range)) {
    svg.line(left - 4, scale.at(mark), left, scale.at(mark), "axis");
    svg.text(left - 7, scale.at(mark) + 4, range.write(mark), "end", "small");
  }
}

std::string whole(double number) { return signed_decimal(number, 0); }
std::string plain(double number) { return decimal(number, 0); }

}  // namespace

Range range_around(const std::vector<double>& numbers, std::string (*write)(double), double always,
                   double least) {
  double low = always, high = always;
  for (const double number : numbers) {
    low = std::min(low, number);
    high = std::max(high, number);
  }
  if (high - low < least) high = low + least;
  double step = std::pow(10.0, std::floor(std::log10((high - low) / 5)));
  for (const double times : {1.0, 2.0, 5.0, 10.0})
    if ((high - low) / (step * times) <= 7) {
      step *= times;
      break;
    }
  return {std::floor(low / step + 1e-9) * step, std::ceil(high / step - 1e-9) * step, step, write};
}

std::string forest_plot(const Forest& forest) {
  constexpr double row_height = 19, left = 190;
  const double top = 6, bottom = top + row_height * static_cast<double>(forest.rows.size()) + 4;
  Svg svg(width, bottom + 24, forest.finding);
  const Scale scale{forest.range.from, forest.range.to, left, 695};
  if (forest.band)
    svg.rect(scale.at(forest.band->first), top, scale.at(forest.band->second) - scale.at(forest.band->first),
             bottom - top, "band");
  for (const double mark : forest.marks) svg.line(scale.at(mark), top, scale.at(mark), bottom, "mark");
  draw_across(svg, forest.range, scale, bottom);
  double y = top + row_height / 2;
  for (const ForestRow& row : forest.rows) {
    svg.text(left - 10, y + 4, shortened(row.label, 26), "end", row.strong ? "strong" : "small");
    const auto& e = row.value;
    if (e.estimate && e.lower && e.upper) svg.line(scale.at(*e.lower), y, scale.at(*e.upper), y, "span");
    if (e.estimate) svg.circle(scale.at(*e.estimate), y, 5, row.strong ? "dot" : "ring");
    if (!e.estimate) svg.text(left + 6, y + 4, "no value", "start", "small");
    y += row_height;
  }
  return svg.str();
}

std::string heat_map(const HeatMap& map) {
  constexpr double row_height = 17, left = 110, top = 18;
  const double cell = (width - left - 4) / static_cast<double>(std::max<std::size_t>(1, map.columns.size()));
  Svg svg(width, top + row_height * static_cast<double>(map.rows.size()) + 4, map.finding);
  for (std::size_t c = 0; c < map.columns.size(); ++c)
    svg.text(left + cell * (static_cast<double>(c) + 0.5), 12, map.columns[c], "middle", "small");
  for (std::size_t r = 0; r < map.rows.size(); ++r) {
    const double y = top + row_height * static_cast<double>(r);
    svg.text(left - 8, y + 12, shortened(map.rows[r], 14), "end", "small");
    for (std::size_t c = 0; c < map.columns.size(); ++c) {
      const double x = left + cell * static_cast<double>(c);
      svg.rect(x, y, cell, row_height, "even");
      const auto& value = map.cells[r][c];
      if (!value) continue;
      const double size = std::abs(*value);
      const bool high = *value > 0;
      if (size >= map.slight) {
        svg.rect(x + .5, y + .5, cell - 1, row_height - 1,
                 size >= map.strong ? (high ? "h2" : "l2") : (high ? "h1" : "l1"));
        svg.rect(x + 2, high ? y + 1 : y + row_height - 3, cell - 4, 2, "bar");
      }
      svg.text(x + cell / 2, y + 12, signed_decimal(*value, 1), "middle",
               size >= map.strong ? "strong" : "small");
    }
  }
  return svg.str();
}

std::string difference_plot(const Differences& plot) {
  constexpr double top = 12, bottom = 250, left = 60, right = 640;
  std::vector<double> across, up;
  std::size_t most = 1;
  for (const DifferencePoint& point : plot.points) {
    across.push_back(point.at);
    up.push_back(point.difference);
    most = std::max(most, point.times);
  }
  for (const auto* value : {&plot.lower, &plot.upper, &plot.bias})
    if (*value) up.push_back(**value);
  const Range x = range_around(across, plain, across.empty() ? 0 : across.front()),
              y = range_around(up, whole);
  Svg svg(width, bottom + 40, plot.finding);
  const Scale wide{x.from, x.to, left, right}, high{y.from, y.to, bottom, top};
  draw_across(svg, x, wide, bottom);
  draw_up(svg, y, high, left);
  svg.text(right, bottom + 34, plot.across, "end", "small");
  svg.text(left + 6, top + 2, plot.along, "start", "small");
  svg.line(left, high.at(0), right, high.at(0), "axis");
  for (const DifferencePoint& point : plot.points)
    svg.circle(wide.at(point.at), high.at(point.difference),
               1.8 + 5.0 * std::sqrt(static_cast<double>(point.times) / static_cast<double>(most)), "ring");
  for (const auto* value : {&plot.lower, &plot.upper, &plot.bias})
    if (*value) {
      svg.line(left, high.at(**value), right, high.at(**value), value == &plot.bias ? "span" : "mark");
      svg.text(right + 6, high.at(**value) + 4, signed_decimal(**value, 1), "start", "small");
    }
  return svg.str();
}

std::string curve_plot(const Curve& curve) {
  constexpr double top = 12, bottom = 170, left = 70, right = 690;
  Svg svg(width, bottom + 30, curve.finding);
  const Scale high{curve.range.from, curve.range.to, bottom, top};
  draw_up(svg, curve.range, high, left);
  svg.line(left, bottom, right, bottom, "axis");
  for (const double mark : curve.marks) svg.line(left, high.at(mark), right, high.at(mark), "mark");
  const double step = (right - left) / static_cast<double>(std::max<std::size_t>(1, curve.points.size()));
  // Of many points only some have room for their names.
  const std::size_t every = std::max<std::size_t>(1, (curve.points.size() + 9) / 10);
  std::vector<std::pair<double, double>> line, lower, upper;
  for (std::size_t i = 0; i < curve.points.size(); ++i) {
    const CurvePoint& point = curve.points[i];
    const double x = left + step * (static_cast<double>(i) + 0.5);
    if (i % every == 0) svg.text(x, bottom + 17, shortened(point.label, 12), "middle", "small");
    if (point.lower) lower.emplace_back(x, high.at(*point.lower));
    if (point.upper) upper.emplace_back(x, high.at(*point.upper));
    if (point.value.estimate) line.emplace_back(x, high.at(*point.value.estimate));
  }
  if (!lower.empty()) svg.polyline(lower, "curve");
  if (!upper.empty()) svg.polyline(upper, "curve");
  if (!line.empty()) svg.polyline(line, "curve");
  for (std::size_t i = 0; i < curve.points.size(); ++i) {
    const auto& e = curve.points[i].value;
    const double x = left + step * (static_cast<double>(i) + 0.5);
    if (const auto beside = curve.points[i].beside) svg.circle(x, high.at(*beside), 2.2, "ring");
    if (e.estimate && e.lower && e.upper) svg.line(x, high.at(*e.lower), x, high.at(*e.upper), "span");
    if (e.estimate) svg.circle(x, high.at(*e.estimate), 5, curve.points[i].strong ? "dot" : "ring");
  }
  return svg.str();
}

std::string distribution_strip(const Distribution& of) {
  constexpr double left = 4, bottom = 52, tallest = 34;
  const double cell = 360.0 / static_cast<double>(std::max<std::size_t>(1, of.levels.size()));
  std::size_t most = 1;
  for (const auto& times : of.times) most = std::max(most, times.value_or(0));
  Svg svg(372, bottom + 20, of.finding);
  svg.line(left, bottom, left + 360, bottom, "axis");
  for (std::size_t i = 0; i < of.levels.size(); ++i) {
    const double x = left + cell * static_cast<double>(i), middle = x + cell / 2;
    const auto& times = of.times[i];
    const double tall = tallest * static_cast<double>(times.value_or(0)) / static_cast<double>(most);
    svg.rect(x + cell * .2, bottom - tall, cell * .6, tall, "bar");
    if (!times)
      svg.text(middle, bottom - 4, "few", "middle", "small");
    else if (*times > 0)
      svg.text(middle, bottom - tall - 4, count(*times), "middle", "small");
    const bool key = of.key == i;
    svg.text(middle, bottom + 15, key ? of.levels[i] + " key" : of.levels[i], "middle",
             key ? "strong" : "small");
    if (key) svg.line(x + cell * .1, bottom, x + cell * .9, bottom, "span");
  }
  return svg.str();
}

std::string funnel_plot(const FunnelPlot& funnel) {
  constexpr double top = 12, bottom = 230, left = 60, right = 690;
  std::vector<double> across, up{funnel.center};
  for (const FunnelDot& dot : funnel.dots) {
    across.push_back(static_cast<double>(dot.cases));
    up.push_back(dot.mean);
    up.push_back(funnel.center - dot.outer);
    up.push_back(funnel.center + dot.outer);
  }
  const Range x = range_around(across, plain), y = range_around(up, whole);
  Svg svg(width, bottom + 40, funnel.finding);
  const Scale wide{x.from, x.to, left, right}, high{y.from, y.to, bottom, top};
  draw_across(svg, x, wide, bottom);
  draw_up(svg, y, high, left);
  svg.text(right, bottom + 34, "cases", "end", "small");
  svg.text(left + 6, top + 2, "points of the total", "start", "small");
  svg.line(left, high.at(funnel.center), right, high.at(funnel.center), "axis");
  // The limits depend on the number of cases alone.
  auto order = funnel.dots;
  std::ranges::sort(order, {}, &FunnelDot::cases);
  for (const int side : {-1, 1})
    for (const bool outer : {false, true}) {
      std::vector<std::pair<double, double>> line;
      for (const FunnelDot& dot : order)
        line.emplace_back(wide.at(static_cast<double>(dot.cases)),
                          high.at(funnel.center + side * (outer ? dot.outer : dot.inner)));
      if (line.size() == 1 || (!line.empty() && line.front().first == line.back().first))
        line = {{line.front().first - 12, line.front().second},
                {line.front().first + 12, line.front().second}};
      if (!line.empty()) svg.polyline(line, "curve");
    }
  for (const FunnelDot& dot : funnel.dots) {
    const double at = wide.at(static_cast<double>(dot.cases)), y_at = high.at(dot.mean);
    svg.circle(at, y_at, 4, dot.outside ? "dot" : "ring");
    if (dot.outside)
      svg.text(at > right - 60 ? at - 8 : at + 8, y_at + 4, dot.label, at > right - 60 ? "end" : "start",
               "small");
  }
  return svg.str();
}

}  // namespace evenhand::report
