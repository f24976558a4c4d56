#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "figure/body.hpp"

namespace evenhand::figure {

/// From where a picture is taken, without perspective. Azimuth 0 is from the front, 90 from the child's
/// right.
struct View {
  double azimuth = 0.0;              ///< degrees
  double elevation = 0.0;            ///< degrees above the horizon
  double scale = 1.0;                ///< units of the picture a centimeter
  double width = 0.0, height = 0.0;  ///< of the picture, in its units
  std::array<double, 2> origin{};    ///< where the origin of the room lies in the picture
};

/// Where a hand goes.
struct Place {
  std::string of;    ///< "room", "child", "helper" or "second"
  std::string part;  ///< "trunk" or a joint; empty in the room
  Point at;
  bool turned = true;  ///< false: beside the leaning trunk, but not turned with it
};

/// What stands in the room when one of the words of `when` comes in a timeline and none of `unless`.
struct Scenery {
  struct Ticks {
    Point from, step, up;
    int count = 0;
    int longer = 1;  ///< every so many, one is twice as long
  };
  std::vector<std::string> when, unless, views;  ///< empty: always, never, in all
  std::vector<std::array<double, 6>> boxes;      ///< x, x, y, y, z, z
  std::vector<std::vector<Point>> lines;
  std::optional<Ticks> ticks;
};

enum class Ease { smooth, in, out };

using Numbers = std::vector<double>;

/// One thing that a word does. See the head of cases/poses/figure.yaml.
struct Part {
  std::string who;                ///< whose; empty: the way's
  std::array<double, 2> takes{};  ///< seconds from the moment
  Ease ease = Ease::smooth;
  std::vector<std::pair<std::string, Numbers>> to;  ///< by group
  Numbers at;
  std::vector<std::pair<std::string, std::vector<Numbers>>> adds;  ///< by group: one row a time of `at`
  std::optional<Side> hand;
  std::string point;  ///< of the hand; empty: free again
  bool hand_ring = false;
  std::string ring;                       ///< the joint of a contact without a hand
  std::vector<std::string> until;         ///< when a contact ends
  std::vector<std::string> when, unless;  ///< words that must, or must not, have come by then
  bool holds = false;
  double turns = 0.0;
  double steps = 0.0;
  std::optional<double> reaches;  ///< along the rule: so much of how far the hand comes in the end
};

/// How a body reaches along the rule: from standing, and as far as it can.
struct Reaching {
  std::vector<std::pair<std::string, Numbers>> from, to;  ///< by group
  std::vector<std::array<double, 2>>
      shares;         ///< centimeters, and how much of the way from `from` to `to` that takes
  std::string point;  ///< where the right hand is when the rule reads 0
};

struct Way {
  std::vector<std::string> poses;  ///< in which it holds; empty: in all others
  bool alone = false;              ///< only where the moment brings no pose
  std::string who = "child";
  std::optional<Side> side;             ///< the side it is written for; the other is its mirror
  std::optional<cases::Toward> toward;  ///< where it goes; left and right are each other's mirror
  bool follows = false;                 ///< the side follows the pose, whatever the moment says
  std::vector<Part> parts;
};

/// How one word is played.
struct WordMotion {
  std::string mirrors;  ///< another word that this is the mirror of; then there are no ways
  double still = 0.0;   ///< seconds after the moment at which a still picture shows it best
  std::vector<Way> ways;
};

/// How the figure does what the words of timelines say.
struct Poses {
  std::vector<std::pair<std::string, View>> views;
  std::map<std::string, Lengths, std::less<>> lengths;  ///< "child", "helper"
  std::map<std::string, Channels, std::less<>> rest;    ///< "child", "helper", "second"
  std::map<std::string, Place, std::less<>> points;
  std::vector<std::pair<std::string, Scenery>> scenery;  ///< in the order of drawing
  Reaching reaching;
  std::map<std::string, WordMotion, std::less<>> words;

  /// The view of that name; null when there is none.
  const View* view(std::string_view name) const;
  /// Seconds after its moment at which a still picture shows a word best.
  double still_of(std::string_view word) const;
  const Lengths& lengths_of(std::string_view body) const;
};

}  // namespace evenhand::figure
