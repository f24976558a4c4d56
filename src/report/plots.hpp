#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "agreement/estimate.hpp"

namespace evenhand::report {

// Charts as SVG, all of plain numbers. `finding` is what is read out instead of the picture. The numbers
// stand in a table beside each; a value that is not defined is left out of the picture.

/// The line that a chart's numbers lie on.
struct Range {
  double from = 0.0, to = 1.0;
  double step = 0.2;                       ///< between marks
  std::string (*write)(double) = nullptr;  ///< a mark in words
};

/// Round marks around all of the numbers, at least `least` wide, around `always` as well.
Range range_around(const std::vector<double>& numbers, std::string (*write)(double), double always = 0.0,
                   double least = 1.0);

struct ForestRow {
  std::string label;
  agreement::Estimate value = agreement::Estimate::undefined(agreement::not_asked);
  bool strong = false;  ///< stands out
};

/// Estimates with their limits, one a row, under one scale: agreement, errors by item, the severity of
/// raters. band    drawn behind, what is close enough; marks  dashed lines
struct Forest {
  std::string finding;
  std::vector<ForestRow> rows;
  Range range;
  std::optional<std::pair<double, double>> band{};
  std::vector<double> marks{};
};
std::string forest_plot(const Forest& forest);

/// Signed numbers, rows by columns: mean error of raters by items. Above 0 and below 0 are told apart by
/// color, by the sign printed in the cell, and by a bar at its upper or lower edge.
struct HeatMap {
  std::string finding;
  std::vector<std::string> rows, columns;
  std::vector<std::vector<agreement::Value>> cells;  ///< by row
  double slight = 0.25, strong = 0.75;               ///< from here on the first and the second shade
};
std::string heat_map(const HeatMap& map);

/// How often a difference was found at a place of the scale.
struct DifferencePoint {
  double at = 0.0, difference = 0.0;
  std::size_t times = 1;
};

/// Differences over the scale, with their mean and the limits that hold 95 of 100. The area of a point tells
/// how many lie there.
struct Differences {
  std::string finding;
  std::vector<DifferencePoint> points;
  agreement::Value bias = agreement::not_asked, lower = agreement::not_asked, upper = agreement::not_asked;
  std::string across, along;  ///< what the axes are
};
std::string difference_plot(const Differences& differences);

struct CurvePoint {
  std::string label;
  agreement::Estimate value = agreement::Estimate::undefined(agreement::not_asked);
  bool strong = false;
  std::optional<double> lower{}, upper{};  ///< control limits of this point
  std::optional<double> beside{};          ///< a single number that the point's is made from
};

/// One number over time with its limits: a learning curve over sittings or rounds; with control limits, a
/// control chart.
struct Curve {
  std::string finding;
  std::vector<CurvePoint> points;
  Range range;
  std::vector<double> marks{};
};
std::string curve_plot(const Curve& curve);

/// How often each level was given, the level of the key marked.
struct Distribution {
  std::string finding;
  std::vector<std::string> levels;
  std::vector<std::optional<std::size_t>> times;  ///< nothing: not to be shown
  std::optional<std::size_t> key{};
};
std::string distribution_strip(const Distribution& distribution);

/// Mean error of each rater against the number of cases, with the limits for one who is like the others.
struct FunnelDot {
  std::string label;
  std::size_t cases = 0;
  double mean = 0.0, inner = 0.0, outer = 0.0;  ///< half widths of the limits around the center
  bool outside = false;
};
struct FunnelPlot {
  std::string finding;
  std::vector<FunnelDot> dots;
  double center = 0.0;
};
std::string funnel_plot(const FunnelPlot& funnel);

}  // namespace evenhand::report
