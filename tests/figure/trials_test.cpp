// Every timed trial of the library and every demonstration, sampled all along: what a body cannot do, the
// figure does not do.

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <catch2/catch.hpp>

#include "figure/support.hpp"
#include "figure/track.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::figure;

namespace {

constexpr std::array sides{"left", "right"};
constexpr double step = 0.04;  // seconds between samples

std::string part(const char* side, const char* name) { return fmt::format("{}-{}", side, name); }

double angle(const Point& a, const Point& b) {
  const double cosine = dot(a, b) / std::sqrt(dot(a, a) * dot(b, b));
  return std::acos(std::clamp(cosine, -1.0, 1.0)) * 180 / std::numbers::pi;
}

// Each gives what is wrong with a state, or nothing.

std::string limb(const State& state) {
  for (const auto& [name, body] : state.bodies) {
    const auto& lengths = test::poses().lengths_of(name);
    for (const auto* side : sides) {
      const std::tuple<const char*, const char*, double> bones[] = {{"hip", "knee", lengths.thigh},
                                                                    {"knee", "ankle", lengths.shank},
                                                                    {"shoulder", "elbow", lengths.upper_arm},
                                                                    {"elbow", "hand", lengths.lower_arm},
                                                                    {"foot", "ankle", lengths.ankle}};
      for (const auto& [from, to, length] : bones)
        if (const double is = distance(body.joint(part(side, from)), body.joint(part(side, to)));
            std::abs(is - length) > 1e-9)
          return fmt::format("{} {} {} to {} is {} and not {}", name, side, from, to, is, length);
    }
    if (std::abs(distance(body.joint("pelvis"), body.joint("neck")) - lengths.trunk) > 1e-9)
      return name + "'s trunk";
  }
  return {};
}

std::string slide(const State& before, const State& state) {
  const auto &was = before.bodies.at("child"), &is = state.bodies.at("child");
  for (const auto* side : sides) {
    const auto foot = part(side, "foot"), heel = part(side, "heel");
    if (was.joint(foot).z > 0 || is.joint(foot).z > 0) continue;
    if (const double far =
            distance(was.joint(heel), is.joint(heel)) + distance(was.joint(foot), is.joint(foot));
        far > 1e-9)
      return fmt::format("the {} foot slides {:.3f} cm", side, far);
  }
  return {};
}

std::string miss(const State& state) {
  for (const auto& reach : state.reaches)
    if (reach.weight >= 1 && reach.short_of > 0.5 && !reach.point.starts_with("guard"))
      return fmt::format("{}'s {} hand is {:.1f} cm short of {}", reach.body, cases::to_string(reach.side),
                         reach.short_of, reach.point);
  return {};
}

std::string strain(const State& state) {
  for (const auto& [name, body] : state.bodies) {
    for (const auto* side : sides) {
      const auto at = [&](const char* joint) { return body.joint(part(side, joint)); };
      const Point thigh = plus(at("hip"), at("knee"), -1), shank = plus(at("knee"), at("ankle"), -1);
      if (const double knee = angle(thigh, shank); knee > 150)
        return fmt::format("{}'s {} knee bends by {:.0f} degrees", name, side, knee);
      if (const double hip = 180 - angle(body.trunk.up, plus(at("knee"), at("hip"), -1)); hip > 145)
        return fmt::format("{}'s {} hip bends by {:.0f} degrees", name, side, hip);
      const Point upper = plus(at("elbow"), at("shoulder"), -1), lower = plus(at("hand"), at("elbow"), -1);
      if (const double elbow = angle(upper, lower); elbow > 155)
        return fmt::format("{}'s {} elbow bends by {:.0f} degrees", name, side, elbow);
      const Point foot = plus(at("ball"), at("heel"), -1);
      if (const double ankle = angle(plus(at("knee"), at("ankle"), -1), foot); ankle < 38 || ankle > 172)
        return fmt::format("{}'s {} ankle is at {:.0f} degrees", name, side, ankle);
      // Toes that are set down may brush the floor; nobody looks at the adult's feet.
      if (name == "child" && std::min({at("heel").z, at("ball").z, at("toe").z, at("knee").z}) < -1.0)
        return fmt::format("{}'s {} leg goes into the floor", name, side);
    }
    const Point level{body.trunk.left.x, body.trunk.left.y, 0}, face{body.face.left.x, body.face.left.y, 0};
    if (const double neck = angle(level, face); neck > 92)
      return fmt::format("{}'s neck turns by {:.0f} degrees", name, neck);
    if (const double nod = angle(body.trunk.up, body.face.up); nod > 70)
      return fmt::format("{}'s neck bends by {:.0f} degrees", name, nod);
  }
  return {};
}

std::string outside(const State& state) {
  for (const auto& [name, body] : state.bodies)
    for (const auto& [view_name, view] : test::poses().views) {
      if (view_name == "close") continue;  // of the hand at the rule alone
      for (const auto& [joint, point] : body.joints) {
        const auto at = project(point, view);
        const double margin = joint == "head" ? view.scale * test::poses().lengths_of(name).head : 2;
        if (at.x < margin || at.y < margin || at.x > view.width - margin || at.y > view.height - margin)
          return fmt::format("{}'s {} is at {:.0f}, {:.0f} from the {}", name, joint, at.x, at.y, view_name);
      }
    }
  return {};
}

// The quickest thing there is, a hand that is flung out, moves about 5 m/s.
std::string jump(const State& before, const State& state) {
  for (const auto& [name, body] : state.bodies)
    for (const auto& [joint, point] : body.joints)
      if (const double moved = distance(point, before.bodies.at(name).joint(joint)); moved > 600 * step)
        return fmt::format("{}'s {} jumps {:.0f} cm", name, joint, moved);
  return {};
}

}  // namespace

TEST_CASE("no body does what a body cannot do, in any trial", "[property]") {
  auto trials = test::library_trials();
  REQUIRE(trials.size() > 150);
  for (auto& each : test::demonstrations()) trials.push_back(std::move(each));
  // The first fault of a kind in each trial.
  std::map<std::string, std::vector<std::string>> faults;
  for (const auto& trial : trials) {
    const auto track = make_track(trial.timeline, test::poses());
    auto before = state_at(track, 0, test::poses());
    std::set<std::string> said;
    for (double t = 0; t <= trial.end(); t += step) {
      auto state = state_at(track, t, test::poses());
      const std::pair<const char*, std::string> looks[] = {
          {"limbs", limb(state)},    {"feet", slide(before, state)}, {"hands", miss(state)},
          {"joints", strain(state)}, {"picture", outside(state)},    {"jumps", jump(before, state)}};
      for (const auto& [kind, fault] : looks)
        if (!fault.empty() && said.insert(kind).second)
          faults[kind].push_back(fmt::format("{} at {:.2f} s: {}", trial.name, t, fault));
      before = std::move(state);
    }
  }
  const auto of = [&](const char* kind) { return fmt::format("{}", fmt::join(faults[kind], "\n")); };
  CHECK(of("limbs") == "");    // no limb changes its length
  CHECK(of("feet") == "");     // a foot that is down does not slide
  CHECK(of("hands") == "");    // a hand that is said to be somewhere is there
  CHECK(of("joints") == "");   // no joint goes past what joints do
  CHECK(of("picture") == "");  // everybody is inside the picture
  CHECK(of("jumps") == "");    // nothing jumps
}

TEST_CASE("the demonstrations use every word of the vocabulary and show every item") {
  std::set<std::string> words, items;
  for (const auto& trial : test::demonstrations()) {
    items.insert(trial.item);
    for (const auto& moment : trial.timeline)
      for (const auto* list : {&moment.poses, &moment.contacts, &moment.helpers, &moment.events})
        words.insert(list->begin(), list->end());
  }
  for (const auto& id : test::shipped_library().vocabulary.ids()) {
    INFO(id);
    CHECK(words.contains(id));
  }
  for (const auto& item :
       test::shipped_library().instruments.at("pediatric-balance").by_default->instrument.items) {
    INFO(item.id);
    CHECK(items.contains(item.id));
  }
}

TEST_CASE("a trial plays the same however often it is asked for, and in whatever order") {
  for (const auto& trial : test::demonstrations()) {
    const auto first = test::picture_json(state_at(trial.timeline, 3.21, test::poses()));
    const auto later = test::picture_json(state_at(trial.timeline, 7.5, test::poses()));
    CHECK(first == test::picture_json(state_at(trial.timeline, 3.21, test::poses())));
    CHECK(later == test::picture_json(state_at(trial.timeline, 7.5, test::poses())));
  }
}
