#include "report/charts.hpp"

#include <algorithm>

#include <fmt/core.h>

#include "report/svg.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

constexpr double lowest_share = 0.4;  // what lies below is drawn at the edge

/// Shares as places on a line.
struct Axis {
  double left, right;

  double at(double share) const {
    return left + (std::max(share, lowest_share) - lowest_share) / (1.0 - lowest_share) * (right - left);
  }
};

void draw_marks(Svg& svg, const Axis& axis, double top, double bottom, double not_acceptable,
                double competent) {
  for (int tenth = 4; tenth <= 10; ++tenth) {
    const double x = axis.at(tenth / 10.0);
    svg.line(x, bottom, x, bottom + 4, "axis");
    svg.text(x, bottom + 17, fmt::format("{} %", 10 * tenth), "middle", "small");
  }
  svg.line(axis.left, bottom, axis.right, bottom, "axis");
  svg.line(axis.at(not_acceptable), top, axis.at(not_acceptable), bottom, "mark");
  svg.line(axis.at(competent), top, axis.at(competent), bottom, "mark");
}

void draw_look(Svg& svg, const Axis& axis, double y, const competency::Look& look) {
  const auto& limit = look.limit;
  if (limit.lower && limit.upper) svg.line(axis.at(*limit.lower), y, axis.at(*limit.upper), y, "span");
  if (limit.share) svg.circle(axis.at(*limit.share), y, 5.5, "dot");
}

}  // namespace

std::string decision_chart(const competency::Look& look, double not_acceptable, double competent) {
  const auto& limit = look.limit;
  Svg svg(720, 92,
          limit.share ? fmt::format("Same score as the key in {}{}; the standard asks for more than {}.",
                                    percent(*limit.share),
                                    limit.lower ? fmt::format(", limits {} and {}", percent(*limit.lower),
                                                              percent(*limit.upper))
                                                : std::string(),
                                    percent(not_acceptable))
                      : std::string("No score that counts yet."));
  const Axis axis{25, 690};
  svg.text(axis.at(not_acceptable) - 6, 13, percent(not_acceptable), "end", "small");
  svg.text(axis.at(competent) + 6, 13, percent(competent), "start", "small");
  draw_marks(svg, axis, 4, 66, not_acceptable, competent);
  draw_look(svg, axis, 42, look);
  return svg.str();
}

std::string raters_chart(const std::vector<RaterRow>& rows, double not_acceptable, double competent) {
  constexpr double row_height = 19;
  const double bottom = 22 + row_height * static_cast<double>(rows.size());
  Svg svg(720, bottom + 24, "Share of scores equal to the key, with the limits that decide, for each rater.");
  const Axis axis{130, 700};
  svg.text(axis.at(not_acceptable) - 5, 12, percent(not_acceptable), "end", "small");
  svg.text(axis.at(competent) + 5, 12, percent(competent), "start", "small");
  draw_marks(svg, axis, 4, bottom, not_acceptable, competent);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const double y = 22 + row_height * (static_cast<double>(i) + 0.5);
    svg.text(120, y + 4, rows[i].rater, "end", "small");
    draw_look(svg, axis, y, rows[i].look);
  }
  return svg.str();
}

}  // namespace evenhand::report
