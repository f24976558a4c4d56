#pragma once

#include <limits>
#include <map>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "cases/case.hpp"
#include "figure/poses.hpp"

namespace evenhand::figure {

/// A channel's way from one value to another.
struct Stretch {
  double from = 0.0, to = 0.0;
  double begin = 0.0, end = 0.0;  ///< seconds from the start of the trial
  Ease ease = Ease::smooth;
  double at = 0.0;  ///< the moment it belongs to
};

/// What is added to a channel and passes again.
struct Motion {
  Numbers times, values;
};

/// A hand's way to a point, which it keeps until its next way.
struct Hold {
  double begin = 0.0, end = 0.0;
  Ease ease = Ease::smooth;
  std::string point;  ///< empty: free
  bool ring = false;
  double along = 0.0;  ///< centimeters forward of the point
};

/// A contact that is shown, without a hand.
struct Ring {
  double begin = 0.0, end = 0.0;
  std::string joint;
};

struct BodyTrack {
  Channels rest;
  std::vector<std::vector<Stretch>> stretches;  ///< by channel, in order of time, never overlapping
  std::vector<std::vector<Motion>> motions;     ///< by channel
  std::vector<Hold> left_hand, right_hand;
};

/// A timeline as movements.
struct Track {
  std::map<std::string, BodyTrack, std::less<>> bodies;  ///< "child", "helper", "second"
  std::vector<Ring> rings;
  std::set<std::string, std::less<>> words;               ///< all that come
  double held = std::numeric_limits<double>::infinity();  ///< from when on the object is in the right hand
};

/// What moves when. Where two movements of a channel meet, both are kept and hurry: the earlier one ends, the
/// later begins half way between their moments.
Track make_track(std::span<const cases::Moment> timeline, const Poses& poses);

double value_at(std::span<const Stretch> stretches, double rest, double t);
double added_at(const Motion& motion, double t);
/// How far a hand is on its way, 0 to 1.
double weight_at(const Hold& hold, double t);

}  // namespace evenhand::figure
