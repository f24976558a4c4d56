#include "figure/state.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

namespace evenhand::figure {
namespace {

constexpr std::array names{"child", "helper", "second"};

// Slow waves that never repeat within a trial, the same for everyone.
double waves(double t, double shift) {
  return std::sin(1.7 * t + shift) + 0.5 * std::sin(3.83 * t + 2.1 * shift + 1.1) +
         0.25 * std::sin(7.1 * t + 0.7 * shift + 2.3);
}

Channels channels_at(const BodyTrack& body, double t, double shift) {
  Channels c(channel::count);
  for (std::size_t i = 0; i < c.size(); ++i) {
    c[i] = value_at(body.stretches[i], body.rest[i], t);
    for (const auto& motion : body.motions[i]) c[i] += added_at(motion, t);
  }
  const double pelvis = c[channel::sway], trunk = c[channel::sway + 1];
  c[channel::pelvis] += 0.45 * pelvis * waves(t, shift);
  c[channel::pelvis + 1] += 0.35 * pelvis * waves(t, shift + 4);
  c[channel::trunk] += 0.5 * trunk * waves(t, shift + 4.4);
  c[channel::trunk + 1] += 0.6 * trunk * waves(t, shift + 0.4);
  c[channel::head + 1] += 0.4 * trunk * waves(t, shift + 0.8);
  for (const auto foot : {channel::feet, channel::feet + 5}) c[foot + 2] = std::max(c[foot + 2], 0.0);
  return c;
}

Point point_of(const Place& place, const State& state) {
  if (place.of == "room") return place.at;
  const auto& body = state.bodies.at(place.of);
  if (place.part != "trunk") return plus(body.joint(place.part), turned(place.at, body.turn));
  const Point along = plus(body.joint("pelvis"), body.trunk.up, place.at.z);
  if (!place.turned) return plus(along, {place.at.x, place.at.y, 0});
  return plus(plus(along, body.trunk.left, place.at.x), body.trunk.forward, place.at.y);
}

void put_hand(State& state, const std::string& name, Side side, const std::vector<Hold>& holds, double t,
              const Poses& poses) {
  auto& body = state.bodies.at(name);
  const auto hand = fmt::format("{}-hand", cases::to_string(side));
  const Point angled = body.joint(hand);
  Point to = angled;
  double all = 0, ring = 0;
  const Hold* last = nullptr;
  for (const auto& hold : holds) {
    const double weight = weight_at(hold, t);
    if (t < hold.begin) break;
    const bool goes = !hold.point.empty();
    const auto there = [&] {
      return plus(point_of(poses.points.find(hold.point)->second, state), {0, hold.along, 0});
    };
    to = between(to, goes ? there() : angled, weight);
    all = goes ? std::max(all, weight) : all * (1 - weight);
    ring = goes && hold.ring && weight >= 1 ? 1 : ring * (1 - weight);
    last = &hold;
  }
  if (all > 0) reach_for(body, poses.lengths_of(name), side, to, all);
  if (ring > 0.5) state.contacts.push_back({body.joint(hand), ring});
  if (last != nullptr && !last->point.empty())
    state.reaches.push_back({name, side, last->point, weight_at(*last, t), distance(body.joint(hand), to)});
}

bool any(const std::vector<std::string>& words, const Track& track) {
  return std::any_of(words.begin(), words.end(),
                     [&](const auto& word) { return track.words.contains(word); });
}

}  // namespace

State state_at(std::span<const cases::Moment> timeline, double t, const Poses& poses) {
  return state_at(make_track(timeline, poses), t, poses);
}

State state_at(const Track& track, double t, const Poses& poses) {
  State state;
  const bool second = track.words.contains("second-adult-near") || track.words.contains("second-adult-helps");
  const std::size_t n = second ? 3 : 2;
  for (std::size_t i = 0; i < n; ++i) {
    const auto channels = channels_at(track.bodies.at(names[i]), t, 5 * static_cast<double>(i));
    state.bodies.emplace(names[i], solve(poses.lengths_of(names[i]), channels, i != 0));
    if (i == 0) {
      state.eyes = channels[channel::eyes];
      state.flutter = channels[channel::eyes + 1];
    }
  }
  for (std::size_t i = 0; i < n; ++i) {
    const auto& body = track.bodies.at(names[i]);
    put_hand(state, names[i], Side::left, body.left_hand, t, poses);
    put_hand(state, names[i], Side::right, body.right_hand, t, poses);
  }
  for (const auto& ring : track.rings)
    if (t >= ring.begin && t < ring.end)
      state.contacts.push_back({state.bodies.at("child").joint(ring.joint), 1});
  for (const auto& [name, thing] : poses.scenery)
    if ((thing.when.empty() || any(thing.when, track)) && !any(thing.unless, track))
      state.scenery.push_back(name);
  if (t >= track.held) state.held = state.bodies.at("child").joint("right-hand");
  return state;
}

Projected project(const Point& p, const View& view) {
  const double a = view.azimuth * std::numbers::pi / 180, e = view.elevation * std::numbers::pi / 180;
  // From the front the child's left is to the right; from the side she faces right.
  const double across = p.x * std::cos(a) + p.y * std::sin(a);
  const double near = p.y * std::cos(a) - p.x * std::sin(a);
  const double up = p.z * std::cos(e) - near * std::sin(e);
  return {view.origin[0] + view.scale * across, view.origin[1] - view.scale * up,
          near * std::cos(e) + p.z * std::sin(e)};
}

}  // namespace evenhand::figure
