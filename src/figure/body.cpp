#include "figure/body.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evenhand::figure {
namespace {

double sine(double degrees) { return std::sin(degrees * std::numbers::pi / 180); }
double cosine(double degrees) { return std::cos(degrees * std::numbers::pi / 180); }

Point unit(const Point& a) {
  const double length = std::sqrt(dot(a, a));
  if (length < 1e-9) return {0, 0, 1};
  return {a.x / length, a.y / length, a.z / length};
}

// What of `a` is square to the unit vector `axis`.
Point square(const Point& a, const Point& axis) { return plus(a, axis, -dot(a, axis)); }

Point upward(double pitch, double roll, double yaw) {
  return turned({sine(roll), cosine(roll) * sine(pitch), cosine(roll) * cosine(pitch)}, yaw);
}

Axes axes(const Point& up, double yaw) {
  const Point left = unit(square(turned({1, 0, 0}, yaw), up));
  const Point forward = unit(square(square(turned({0, 1, 0}, yaw), up), left));
  return {left, forward, up};
}

// The share of a leg's length that it is used to: a knee is never quite straight.
constexpr double leg_share = 0.994;

constexpr std::array sides{Side::left, Side::right};

struct Foot {
  Point ankle, forward;
};

std::string joint(Side side, std::string_view name) {
  return std::string(cases::to_string(side)).append("-").append(name);
}

class Solver {
 public:
  Solver(const Lengths& lengths, const Channels& channels) : lengths_(lengths), channels_(channels) {
    body_.turn = channels[channel::turn];
    place_ = {channels[channel::at], channels[channel::at + 1], 0};
  }

  Body run(bool feet_turn) {
    for (const auto side : sides)
      put_foot(side, feet_turn ? body_.turn : channels_[channel::spins + (side == Side::left ? 0 : 1)]);
    put_pelvis();
    for (const auto side : sides) put_leg(side);
    put_trunk();
    for (const auto side : sides) put_arm(side);
    return std::move(body_);
  }

 private:
  double at(std::size_t group, std::size_t i) const { return channels_[group + i]; }
  Foot& foot(Side side) { return feet_[side == Side::left ? 0 : 1]; }
  void put(std::string name, const Point& point) { body_.joints.insert_or_assign(std::move(name), point); }

  void put_foot(Side side, double spin) {
    const auto group = channel::feet + (side == Side::left ? 0 : 5);
    const Point sole = plus(place_, turned({at(group, 0), at(group, 1), at(group, 2)}, spin));
    const double pitch = at(group, 3), yaw = spin + at(group, 4), grip = at(channel::toes, 0);
    const Point along = turned({0, cosine(pitch), -sine(pitch)}, yaw);
    const Point above = turned({0, sine(pitch), cosine(pitch)}, yaw);
    const Point ball = plus(sole, along, lengths_.foot - lengths_.heel - lengths_.toes);
    put(joint(side, "foot"), sole);
    put(joint(side, "heel"), plus(sole, along, -lengths_.heel));
    put(joint(side, "ball"), ball);
    put(joint(side, "knuckle"), plus(plus(ball, along, 0.5 * lengths_.toes), above, 3 * grip));
    put(joint(side, "toe"), plus(ball, along, lengths_.toes * (1 - 0.3 * grip)));
    foot(side) = {plus(sole, above, lengths_.ankle), turned({0, 1, 0}, yaw)};
  }

  Point hip(const Point& pelvis, Side side) const {
    return plus(pelvis, turned({1, 0, 0}, body_.turn), side == Side::left ? lengths_.hips : -lengths_.hips);
  }

  void put_pelvis() {
    Point pelvis = plus(
        place_, turned({at(channel::pelvis, 0), at(channel::pelvis, 1), at(channel::pelvis, 2)}, body_.turn));
    const double reach = leg_share * (lengths_.thigh + lengths_.shank);
    for (const auto side : sides) {
      const Point from = hip(pelvis, side);
      const Point& ankle = foot(side).ankle;
      const double flat = (from.x - ankle.x) * (from.x - ankle.x) + (from.y - ankle.y) * (from.y - ankle.y);
      pelvis.z = std::min(pelvis.z, ankle.z + std::sqrt(std::max(reach * reach - flat, 0.0)));
    }
    put("pelvis", pelvis);
  }

  void put_leg(Side side) {
    const double sign = side == Side::left ? 1 : -1;
    const Point from = hip(body_.joint("pelvis"), side);
    const Point pole = plus(plus(foot(side).forward, turned({0, 1, 0}, body_.turn)),
                            turned({1, 0, 0}, body_.turn), sign * 0.16);
    const auto leg = two_bones(from, foot(side).ankle, lengths_.thigh, lengths_.shank, pole);
    put(joint(side, "hip"), from);
    put(joint(side, "knee"), leg.middle);
    put(joint(side, "ankle"), leg.end);
  }

  void put_trunk() {
    const double turn = body_.turn, yaw = turn + at(channel::trunk, 2);
    body_.trunk = axes(upward(at(channel::trunk, 0), at(channel::trunk, 1), turn), yaw);
    body_.face = axes(upward(at(channel::head, 0), at(channel::head, 1), turn), yaw + at(channel::head, 2));
    const Point pelvis = body_.joint("pelvis");
    const Point neck = plus(pelvis, body_.trunk.up, lengths_.trunk);
    put("neck", neck);
    put("head", plus(neck, body_.face.up, lengths_.neck + lengths_.head));
    put("back", plus(plus(pelvis, body_.trunk.up, 0.7 * lengths_.trunk), body_.trunk.forward, -5));
    put("seat", plus(pelvis, {0, 0, 1}, -5));
  }

  void put_arm(Side side) {
    const double sign = side == Side::left ? 1 : -1;
    const auto group = channel::arms + (side == Side::left ? 0 : 4);
    const double yaw = body_.turn + at(channel::trunk, 2);
    const auto bone = [&](double pitch, double roll) {
      return turned({sign * sine(roll), cosine(roll) * sine(pitch), -cosine(roll) * cosine(pitch)}, yaw);
    };
    const Point shoulder = plus(body_.joint("neck"), body_.trunk.left, sign * lengths_.shoulders);
    const Point elbow = plus(shoulder, bone(at(group, 0), at(group, 1)), lengths_.upper_arm);
    put(joint(side, "shoulder"), shoulder);
    put(joint(side, "elbow"), elbow);
    put(joint(side, "hand"), plus(elbow, bone(at(group, 2), at(group, 3)), lengths_.lower_arm));
  }

  const Lengths& lengths_;
  const Channels& channels_;
  Point place_;
  std::array<Foot, 2> feet_;
  Body body_;
};

}  // namespace

Point plus(const Point& a, const Point& b, double times) {
  return {a.x + times * b.x, a.y + times * b.y, a.z + times * b.z};
}

Point between(const Point& a, const Point& b, double share) {
  return {a.x + share * (b.x - a.x), a.y + share * (b.y - a.y), a.z + share * (b.z - a.z)};
}

double dot(const Point& a, const Point& b) { return a.x * b.x + a.y * b.y + a.z * b.z; }

double distance(const Point& a, const Point& b) {
  const Point away = plus(a, b, -1);
  return std::sqrt(dot(away, away));
}

Point turned(const Point& local, double yaw) {
  const double s = sine(yaw), c = cosine(yaw);
  return {local.x * c + local.y * s, -local.x * s + local.y * c, local.z};
}

const std::array<Group, 14>& groups() {
  static const auto all = [] {
    std::array<Group, 14> list{{{"at", 2},
                                {"turn", 1},
                                {"pelvis", 3},
                                {"trunk", 3},
                                {"head", 3},
                                {"left-arm", 4},
                                {"right-arm", 4},
                                {"left-foot", 5},
                                {"right-foot", 5},
                                {"left-spin", 1},
                                {"right-spin", 1},
                                {"eyes", 2},
                                {"toes", 1},
                                {"sway", 2}}};
    std::size_t offset = 0;
    for (auto& group : list) {
      group.offset = offset;
      offset += group.size;
    }
    return list;
  }();
  return all;
}

const Group* find_group(std::string_view name) {
  for (const auto& group : groups())
    if (group.name == name) return &group;
  return nullptr;
}

TwoBones two_bones(const Point& from, const Point& to, double first, double second, const Point& pole) {
  const Point away = plus(to, from, -1);
  const double far = std::sqrt(dot(away, away));
  const double d = std::clamp(far, std::abs(first - second) + 1e-6, first + second - 1e-6);
  const Point axis = far < 1e-9 ? Point{0, 0, -1} : unit(away);
  const Point side = unit(square(pole, axis));
  const double along = (first * first - second * second + d * d) / (2 * d);
  const double off = std::sqrt(std::max(first * first - along * along, 0.0));
  return {plus(plus(from, axis, along), side, off), plus(from, axis, d)};
}

Body solve(const Lengths& lengths, const Channels& channels, bool feet_turn) {
  return Solver(lengths, channels).run(feet_turn);
}

void reach_for(Body& body, const Lengths& lengths, Side side, const Point& to, double weight) {
  const Point shoulder = body.joint(joint(side, "shoulder"));
  const double sign = side == Side::left ? 1 : -1;
  const Point usual = plus(plus({0, 0, -7}, body.trunk.left, sign * 6), body.trunk.forward, -3);
  const Point pole = between(plus(body.joint(joint(side, "elbow")), shoulder, -1), usual, weight);
  const auto arm = two_bones(shoulder, to, lengths.upper_arm, lengths.lower_arm, pole);
  body.joints.insert_or_assign(joint(side, "elbow"), arm.middle);
  body.joints.insert_or_assign(joint(side, "hand"), arm.end);
}

}  // namespace evenhand::figure
