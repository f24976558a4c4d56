#pragma once

#include <array>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "cases/case.hpp"
#include "figure/poses.hpp"
#include "figure/track.hpp"

namespace evenhand::figure {

/// A contact that is shown by a ring.
struct Contact {
  Point at;
  double strength = 1.0;
};

/// A hand on its way to a point or at it, and how far from it the arm leaves it.
struct Reach {
  std::string body;
  Side side = Side::left;
  std::string point;
  double weight = 0.0;
  double short_of = 0.0;  ///< centimeters
};

/// Where everything is at an instant.
struct State {
  std::map<std::string, Body, std::less<>>
      bodies;            ///< "child", "helper"; "second" where the timeline has one
  double eyes = 1.0;     ///< 1 open, 0 closed
  double flutter = 0.0;  ///< of closed lids
  std::vector<Contact> contacts;
  std::vector<std::string> scenery;  ///< what stands in the room, by name
  std::optional<Point> held;         ///< where the object is, once it is in the hand
  std::vector<Reach> reaches;
};

/// Where everything is, `t` seconds from the start of a trial. A function of its arguments alone: the same
/// for every rater, and the same as poseAt() of src/server/web/js/figure.js.
State state_at(std::span<const cases::Moment> timeline, double t, const Poses& poses);
/// The same for a track that is made once.
State state_at(const Track& track, double t, const Poses& poses);

/// A place on a picture, in its units.
struct Projected {
  double x = 0.0;
  double y = 0.0;
  double near = 0.0;  ///< toward who looks, in centimeters
};
Projected project(const Point& point, const View& view);

}  // namespace evenhand::figure
