#pragma once

#include <array>
#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cases/case.hpp"

namespace evenhand::figure {

/// A place in the room, in centimeters: x to the child's left, y forward, z up from the floor.
struct Point {
  double x = 0.0;
  double y = 0.0;
  double z = 0.0;

  friend bool operator==(const Point&, const Point&) = default;
};

Point plus(const Point& a, const Point& b, double times = 1.0);
/// The point that share of the way from a to b.
Point between(const Point& a, const Point& b, double share = 0.5);
double dot(const Point& a, const Point& b);
double distance(const Point& a, const Point& b);
/// A local place (left, forward, up) as it lies for a body turned by `yaw` degrees to its left.
Point turned(const Point& local, double yaw);

/// Lengths of a body's segments, in centimeters. `hips` and `shoulders` are half widths.
struct Lengths {
  double foot = 0.0, heel = 0.0, toes = 0.0, ankle = 0.0, shank = 0.0, thigh = 0.0, hips = 0.0, trunk = 0.0,
         shoulders = 0.0, upper_arm = 0.0, lower_arm = 0.0, neck = 0.0, head = 0.0;
};

/// What a body is doing, as numbers: places and angles in the order of `groups`.
using Channels = std::vector<double>;

/// Channels that belong together: `trunk` is pitch, roll, yaw.
struct Group {
  std::string_view name;
  std::size_t size = 0;
  std::size_t offset = 0;  ///< of its first number among the channels
};

/// Where the groups begin.
namespace channel {
inline constexpr std::size_t at = 0, turn = 2, pelvis = 3, trunk = 6, head = 9, arms = 12, feet = 20,
                             spins = 30, eyes = 32, toes = 34, sway = 35, count = 37;
}  // namespace channel

/// All groups. The same list stands in src/server/web/js/figure_body.js.
const std::array<Group, 14>& groups();
/// The group of that name; null when there is none.
const Group* find_group(std::string_view name);

struct Axes {
  Point left, forward, up;
};

/// A body in space.
struct Body {
  std::map<std::string, Point, std::less<>> joints;  ///< "pelvis", "left-knee", ...
  Axes trunk;
  Axes face;
  double turn = 0.0;  ///< of the pelvis, in degrees to the left

  const Point& joint(std::string_view name) const { return joints.find(name)->second; }
};

/// Two bones from `from` toward `to`, the joint between them on the side of `pole`. Bones that are too short
/// end before `to`: their lengths never give.
struct TwoBones {
  Point middle, end;
};
TwoBones two_bones(const Point& from, const Point& to, double first, double second, const Point& pole);

/// The joints that follow from channels. Trunk, head and arms stand at their angles; feet and pelvis in their
/// places, the pelvis no higher than both legs reach; the legs follow.
///
/// feet_turn  The feet turn with the body; otherwise each by its own spin, so that one may stay behind.
Body solve(const Lengths& lengths, const Channels& channels, bool feet_turn);

using cases::Side;

/// Brings a hand to a point, as far as the arm reaches. `weight` is how much of the way there is done: by so
/// much the elbow leaves the place that its angles give.
void reach_for(Body& body, const Lengths& lengths, Side side, const Point& to, double weight);

}  // namespace evenhand::figure
