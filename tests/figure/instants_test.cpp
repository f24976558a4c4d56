// The instants of a timeline are the truth that a watch is held against: what a rater presses at is seen at
// them, in every timed trial of the library and in every demonstration.

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <catch2/catch.hpp>

#include "figure/still.hpp"
#include "figure/support.hpp"
#include "figure/track.hpp"

using namespace evenhand;
using namespace evenhand::figure;

namespace {

bool has(const std::vector<std::string>& words, std::string_view word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

// A trial at its instants.
class Watched {
 public:
  explicit Watched(const test::Played& trial)
      : trial_(trial), track_(make_track(trial.timeline, test::poses())) {}

  State at(double t) const { return state_at(track_, t, test::poses()); }
  double height(const char* foot, double t) const { return at(t).bodies.at("child").joint(foot).z; }
  Point place(const char* foot, double t) const { return at(t).bodies.at("child").joint(foot); }
  bool both_down(double t) const { return height("left-foot", t) < 1e-6 && height("right-foot", t) < 1e-6; }
  double highest(double t) const { return std::max(height("left-foot", t), height("right-foot", t)); }
  const std::vector<cases::Moment>& timeline() const { return trial_.timeline; }
  const std::string& name() const { return trial_.name; }

  /// The pose that holds at a moment.
  std::string pose(std::size_t index) const {
    for (std::size_t i = index + 1; i-- > 0;)
      if (!trial_.timeline[i].poses.empty()) return trial_.timeline[i].poses.back();
    return {};
  }
  /// When the first of some words comes after a moment.
  double next(std::size_t index, std::initializer_list<const char*> words) const {
    for (std::size_t i = index + 1; i < trial_.timeline.size(); ++i)
      for (const auto* word : words)
        for (const auto* list : {&trial_.timeline[i].poses, &trial_.timeline[i].contacts,
                                 &trial_.timeline[i].helpers, &trial_.timeline[i].events})
          if (has(*list, word)) return trial_.timeline[i].at;
    return trial_.end();
  }

 private:
  const test::Played& trial_;
  Track track_;
};

// Calls look(watched, index of the moment) for every moment with that word; gives how many there were.
template <class Look>
int look_at(const std::string& word, std::vector<std::string>& faults, Look look) {
  auto trials = test::library_trials();
  for (auto& each : test::demonstrations()) trials.push_back(std::move(each));
  int n = 0;
  for (const auto& trial : trials) {
    const Watched watched(trial);
    for (std::size_t i = 0; i < trial.timeline.size(); ++i) {
      const auto& moment = trial.timeline[i];
      if (moment.at == 0) continue;
      bool comes = false;
      for (const auto* list : {&moment.poses, &moment.contacts, &moment.helpers, &moment.events})
        comes = comes || has(*list, word);
      if (!comes) continue;
      ++n;
      if (const std::string fault = look(watched, i); !fault.empty())
        faults.push_back(fmt::format("{} at {:.1f} s: {}: {}", trial.name, moment.at, word, fault));
    }
  }
  return n;
}

void check(int n, int at_least, const std::vector<std::string>& faults) {
  CHECK(n >= at_least);
  CHECK(fmt::format("{}", fmt::join(faults, "\n")) == "");
}

// Whether the hand, or one of the hands, arrives at the instant.
std::string arrives(const Watched& watched, double at, const std::string& body, std::string_view point) {
  const auto weight = [&](double t) {
    double most = 0;
    for (const auto& reach : watched.at(t).reaches)
      if (reach.body == body && reach.point.starts_with(point)) most = std::max(most, reach.weight);
    return most;
  };
  if (weight(at) < 1) return fmt::format("the hand is not there, but {:.2f} of the way", weight(at));
  if (weight(at - 0.06) >= 1) return "the hand is there before";
  return {};
}

}  // namespace

TEST_CASE("a foot leaves the floor at the instant it is said to, and stays off until it is said to be down") {
  std::vector<std::string> faults;
  const int n = look_at("foot-lifts", faults, [](const Watched& watched, std::size_t i) -> std::string {
    const double at = watched.timeline()[i].at;
    if (!watched.both_down(at)) return "a foot is off the floor before";
    if (watched.highest(at + 0.1) < 2)
      return fmt::format("only {:.2f} cm after 0.1 s", watched.highest(at + 0.1));
    if (!watched.pose(i).starts_with("one-leg")) return {};
    const double until = watched.next(i, {"foot-down", "falling", "leg-against-leg", "stance-foot-moves"});
    for (double t = at + 0.1; t < until - 0.06; t += 0.05)
      if (watched.highest(t) < 1) return fmt::format("no foot is off the floor at {:.2f} s", t);
    return {};
  });
  check(n, 26, faults);
}

TEST_CASE("a lifted foot touches the floor at the instant it is said to") {
  std::vector<std::string> faults;
  const int n = look_at("foot-down", faults, [](const Watched& watched, std::size_t i) -> std::string {
    const double at = watched.timeline()[i].at;
    if (!watched.both_down(at)) return fmt::format("a foot is {:.2f} cm up", watched.highest(at));
    if (watched.highest(at - 0.05) < 1) return "the foot is down before";
    return {};
  });
  check(n, 21, faults);
}

TEST_CASE("a foot leaves its place at the instant it is said to, and stands elsewhere afterwards") {
  std::vector<std::string> faults;
  for (const auto* word : {"foot-moves", "stance-foot-moves"})
    check(look_at(word, faults,
                  [&](const Watched& watched, std::size_t i) -> std::string {
                    const double at = watched.timeline()[i].at;
                    const auto moved = [&](const char* foot, double from, double to) {
                      return distance(watched.place(foot, from), watched.place(foot, to));
                    };
                    const bool left = moved("left-foot", at, at + 0.2) > moved("right-foot", at, at + 0.2);
                    const char* foot = left ? "left-foot" : "right-foot";
                    const char* other = left ? "right-foot" : "left-foot";
                    if (moved(foot, at - 0.3, at) > 0.01) return "it moves before";
                    if (moved(foot, at, at + 0.1) < 1) return "it has not moved after 0.1 s";
                    if (moved(foot, at, at + 0.6) < 4) return "it goes nowhere";
                    if (moved(other, at, at + 0.6) > 0.01) return "both feet move";
                    return {};
                  }),
          2, faults);
}

TEST_CASE("who staggers stands still before, leaves the place at the instant, and stands again beside it") {
  std::vector<std::string> faults;
  check(look_at("staggers", faults,
                [](const Watched& watched, std::size_t i) -> std::string {
                  const double at = watched.timeline()[i].at;
                  const auto moved = [&](double from, double to) {
                    return std::max(
                        distance(watched.place("left-foot", from), watched.place("left-foot", to)),
                        distance(watched.place("right-foot", from), watched.place("right-foot", to)));
                  };
                  if (moved(at - 0.3, at) > 0.01) return "a foot moves before";
                  if (moved(at, at + 0.1) < 1) return "no foot has moved after 0.1 s";
                  if (moved(at, at + 1.1) < 10) return "the feet go nowhere";
                  if (!watched.both_down(at + 1.2)) return "a foot is still off the floor after 1.2 s";
                  return {};
                }),
        6, faults);
}

TEST_CASE("a heel comes up from the instant on, and the toes stay on the floor") {
  std::vector<std::string> faults;
  check(look_at("heel-lifts", faults,
                [](const Watched& watched, std::size_t i) -> std::string {
                  const double at = watched.timeline()[i].at;
                  const auto height = [&](const char* joint, double t) {
                    return watched.at(t).bodies.at("child").joint(joint).z;
                  };
                  const bool right = height("right-heel", at + 1) > height("left-heel", at + 1);
                  const char* heel = right ? "right-heel" : "left-heel";
                  if (height(heel, at) > 0.01) return "the heel is up before";
                  if (height(heel, at + 0.5) < 5)
                    return fmt::format("only {:.1f} cm up", height(heel, at + 0.5));
                  for (double t = at; t < at + 1; t += 0.05)
                    if (const double toes = height(right ? "right-toe" : "left-toe", t); std::abs(toes) > 0.7)
                      return fmt::format("the toes are at {:.1f} cm", toes);
                  return {};
                }),
        3, faults);
}

TEST_CASE("the knuckles are where the rule says at the furthest reach, and nowhere beyond it before") {
  std::vector<std::string> faults;
  int measured = 0;
  check(look_at("reach-furthest", faults,
                [&measured](const Watched& watched, std::size_t i) -> std::string {
                  const auto& moment = watched.timeline()[i];
                  if (!moment.reach) return {};
                  ++measured;
                  const char* hand = moment.side == cases::Side::left ? "left-hand" : "right-hand";
                  // The picture at the same place along the rule, whichever hand it is.
                  const double zero = test::poses().points.at("rule-right").at.y;
                  const auto reads = [&](double t) { return watched.place(hand, t).y - zero; };
                  if (std::abs(reads(moment.at) - *moment.reach) > 0.2)
                    return fmt::format("it reads {:.2f} cm and not {}", reads(moment.at), *moment.reach);
                  std::size_t raised = i;
                  while (raised > 0 && !has(watched.timeline()[raised].poses, "arm-raised")) --raised;
                  for (double t = watched.timeline()[raised].at; t < moment.at; t += 0.05)
                    if (reads(t) > *moment.reach + 0.2)
                      return fmt::format("{:.1f} cm at {:.2f} s", reads(t), t);
                  return {};
                }),
        12, faults);
  CHECK(measured >= 11);
}

TEST_CASE("knees that fold bring the child down over the feet") {
  std::vector<std::string> faults;
  int folds = 0;
  check(look_at("falling", faults,
                [&folds](const Watched& watched, std::size_t i) -> std::string {
                  const auto& moment = watched.timeline()[i];
                  if (moment.toward != cases::Toward::down) return {};
                  ++folds;
                  const auto pelvis = [&](double t) { return watched.place("pelvis", t); };
                  if (pelvis(moment.at - 0.1).z - pelvis(moment.at).z > 0.5) return "they fold before";
                  const Point from = pelvis(moment.at), to = pelvis(moment.at + 0.5);
                  if (from.z - to.z < 5) return fmt::format("only {:.1f} cm down after 0.5 s", from.z - to.z);
                  if (std::hypot(to.x - from.x, to.y - from.y) > from.z - to.z)
                    return "more across than down";
                  return {};
                }),
        15, faults);
  CHECK(folds >= 6);
}

TEST_CASE("a foot lands on the stool at the instant of the tap, and is not there before") {
  std::vector<std::string> faults;
  for (const bool left : {true, false})
    check(look_at(left ? "tap-left" : "tap-right", faults,
                  [&](const Watched& watched, std::size_t i) -> std::string {
                    const double at = watched.timeline()[i].at;
                    const char* foot = left ? "left-foot" : "right-foot";
                    const Point on = watched.place(foot, at);
                    if (std::abs(on.z - 13) > 0.01 || on.y < 19)
                      return fmt::format("the foot is at {:.1f}, {:.1f}, {:.1f}", on.x, on.y, on.z);
                    if (distance(on, watched.place(foot, at - 0.1)) < 0.4) return "it is there before";
                    if (watched.height(left ? "right-foot" : "left-foot", at) > 1e-6)
                      return "the other foot is up";
                    return {};
                  }),
          60, faults);
}

TEST_CASE("a miss never stands on the stool") {
  std::vector<std::string> faults;
  const int n = look_at("misses-stool", faults, [](const Watched& watched, std::size_t i) -> std::string {
    const double at = watched.timeline()[i].at;
    for (double t = at - 0.4; t < at + 0.6; t += 0.02)
      for (const auto* toe : {"left-toe", "right-toe"})
        if (const Point p = watched.place(toe, t); p.y > 19.5 && p.z > 12)
          return "the toes are over the stool";
    if (watched.highest(at) < 3) return "no foot is up";
    return {};
  });
  check(n, 3, faults);
}

TEST_CASE("the position is taken at the instant it is said to be: what moves before is still from then on") {
  std::vector<std::string> faults;
  const int n = look_at("position-taken", faults, [](const Watched& watched, std::size_t i) -> std::string {
    const double at = watched.timeline()[i].at;
    const auto pose = watched.pose(i);
    if (pose.starts_with("seated") || pose.starts_with("one-leg")) return {};
    if (!watched.both_down(at)) return "a foot is not down yet";
    if (watched.highest(at - 0.1) < 0.2 && watched.timeline()[i].poses.empty() && pose == "standing")
      return "no foot comes down at it";
    const bool takes = !watched.timeline()[i].poses.empty();
    if (takes && watched.highest(at - 0.1) < 0.2) return "no foot comes down at it";
    for (double t = at; t < at + 0.5; t += 0.05)
      if (watched.next(i, {"foot-moves", "foot-lifts", "falling"}) > t && !watched.both_down(t) &&
          watched.next(i, {"foot-on-stool-left", "foot-on-stool-right"}) > t + 1)
        return "a foot still moves";
    return {};
  });
  check(n, 170, faults);
}

TEST_CASE("eyes are shut at the instant they close, and begin to open at the instant they open") {
  std::vector<std::string> faults;
  check(look_at("eyes-close", faults,
                [](const Watched& watched, std::size_t i) -> std::string {
                  const double at = watched.timeline()[i].at;
                  if (watched.at(at).eyes > 0) return "they are not shut";
                  if (watched.at(at - 0.1).eyes < 0.5) return "they are shut before";
                  const double until = watched.next(i, {"eyes-open"});
                  for (double t = at; t < until; t += 0.1)
                    if (watched.at(t).eyes > 0) return fmt::format("they are open at {:.1f} s", t);
                  return {};
                }),
        25, faults);
  check(look_at("eyes-open", faults,
                [](const Watched& watched, std::size_t i) -> std::string {
                  const double at = watched.timeline()[i].at;
                  if (watched.at(at).eyes > 0) return "they are open before";
                  if (watched.at(at + 0.1).eyes < 1) return "they are not open after 0.1 s";
                  return {};
                }),
        15, faults);
}

TEST_CASE("hands arrive where they are said to at the instant") {
  std::vector<std::string> faults;
  const std::tuple<const char*, const char*, const char*, int> all[] = {
      {"hand-on-wall", "child", "wall", 2},
      {"hand-on-person", "child", "sleeve", 1},
      {"hand-on-seat", "child", "bench", 3},
      {"hands-on-bench", "child", "bench", 1},
      {"hands-on-armrests", "child", "armrest", 1},
      {"hands-on-thighs", "child", "thigh", 1},
      {"hand-on-knee", "child", "knee", 1},
      {"hand-on-stool", "child", "stool", 1},
      {"picks-up", "child", "object", 1},
      {"stops-short", "child", "over-object", 1},
      {"catches", "helper", "hold", 12},
      {"light-hand", "helper", "belt", 5},
      {"hand-rests", "helper", "hold-back", 1},
      {"both-hands", "helper", "hold", 1},
      {"places", "helper", "foot", 13},
      {"second-adult-helps", "second", "second", 1},
      {"hand-drops", "child", "bench", 2}};
  for (const auto& [word, body, point, least] : all)
    check(look_at(word, faults,
                  [&, whose = std::string(body), part = std::string(point)](const Watched& watched,
                                                                            std::size_t i) {
                    return arrives(watched, watched.timeline()[i].at, whose, part);
                  }),
          least, faults);
}

TEST_CASE("hands come off at the instant they let go") {
  std::vector<std::string> faults;
  const int n = look_at("lets-go", faults, [](const Watched& watched, std::size_t i) -> std::string {
    const double at = watched.timeline()[i].at;
    const auto touching = [&](double t) {
      for (const auto& reach : watched.at(t).reaches)
        if (reach.body == "helper" && reach.weight > 0) return true;
      return false;
    };
    if (touching(at + 0.36)) return "a hand is still there";
    return {};
  });
  check(n, 16, faults);
}

TEST_CASE("a turn begins with the first foot's lift and ends with both feet down, facing front") {
  std::vector<std::string> faults;
  for (const auto* word : {"turning-left", "turning-right"})
    check(look_at(word, faults,
                  [&](const Watched& watched, std::size_t i) -> std::string {
                    const double at = watched.timeline()[i].at,
                                 until = watched.next(i, {"turn-done", "time-called"});
                    if (!watched.both_down(at)) return "a foot is up before";
                    if (watched.highest(at + 0.1) < 0.8) return "no foot is up after 0.1 s";
                    if (watched.highest(until - 0.08) < 0.5) return "both feet are down before the end";
                    if (!watched.both_down(until)) return "a foot is up at the end";
                    const auto facing = [&](double t) {
                      return watched.at(t).bodies.at("child").trunk.forward;
                    };
                    const bool done = watched.next(i, {"turn-done"}) <= until;
                    if (done && facing(until).y < 0.999) return "it does not end facing front";
                    if (!done && facing(until).y > -0.9) return "it is given up, and ends facing front";
                    const double x = facing(at + (done ? 0.3 : 0.6) * (until - at)).x;
                    if (word == std::string("turning-left") ? x < 0.5 : x > -0.5)
                      return "it turns the wrong way";
                    return {};
                  }),
          16, faults);
}

TEST_CASE("a near-loss is far larger than a sway, and both begin at their instants") {
  std::vector<std::string> faults;
  const auto largest = [](const Watched& watched, double from, double to) {
    const auto pelvis = [&](double t) { return watched.at(t).bodies.at("child").joint("pelvis"); };
    const auto neck = [&](double t) {
      return plus(watched.at(t).bodies.at("child").joint("neck"), pelvis(t), -1);
    };
    double most = 0;
    for (double t = from; t < to; t += 0.05)
      most = std::max(most, distance(neck(t), neck(from)) + distance(pelvis(t), pelvis(from)));
    return most;
  };
  check(look_at("near-loss", faults,
                [&](const Watched& watched, std::size_t i) -> std::string {
                  const double at = watched.timeline()[i].at;
                  if (const double is = largest(watched, at, at + 1); is < 16)
                    return fmt::format("it goes only {:.1f} cm", is);
                  return {};
                }),
        58, faults);
  check(look_at("sways", faults,
                [&](const Watched& watched, std::size_t i) -> std::string {
                  const double at = watched.timeline()[i].at;
                  const double is =
                      largest(watched, at, std::min(at + 1.2, watched.next(i, {"near-loss", "falling"})));
                  if (is > 10) return fmt::format("it goes {:.1f} cm", is);
                  if (is < 2.5) return fmt::format("it goes only {:.1f} cm", is);
                  return {};
                }),
        70, faults);
}

TEST_CASE("arms are folded, a back leans and feet leave the floor at their instants") {
  std::vector<std::string> faults;
  check(look_at("seated-arms-folded", faults,
                [](const Watched& watched, std::size_t i) {
                  return arrives(watched, watched.timeline()[i].at, "child", "fold");
                }),
        15, faults);
  check(look_at("leans-back", faults,
                [](const Watched& watched, std::size_t i) -> std::string {
                  const double at = watched.timeline()[i].at;
                  const auto back = [&](double t) {
                    return watched.at(t).bodies.at("child").joint("back").y;
                  };
                  if (back(at) > -41) return fmt::format("the back is at {:.1f}", back(at));
                  if (back(at - 0.15) < back(at) + 1) return "it is there before";
                  return {};
                }),
        4, faults);
  check(look_at("feet-leave-floor", faults,
                [](const Watched& watched, std::size_t i) -> std::string {
                  const double at = watched.timeline()[i].at;
                  if (!watched.both_down(at)) return "a foot is up before";
                  if (std::min(watched.height("left-foot", at + 0.15),
                               watched.height("right-foot", at + 0.15)) < 3)
                    return "the feet are not up after 0.15 s";
                  return {};
                }),
        3, faults);
}

TEST_CASE("the head and the trunk turn to the side that is looked to, whatever word turns them") {
  std::vector<std::string> faults;
  for (const auto* word :
       {"looking-left", "looking-right", "chin-past-half", "chin-at-shoulder", "trunk-rotates"})
    check(look_at(word, faults,
                  [&](const Watched& watched, std::size_t i) -> std::string {
                    const auto pose = watched.pose(i);
                    if (!pose.starts_with("looking")) return "nobody looks anywhere";
                    const auto& moment = watched.timeline()[i];
                    const auto child =
                        watched.at(figure::still_time(moment, test::poses())).bodies.at("child");
                    // The child's left is where x grows.
                    const double side = pose == "looking-left" ? 1 : -1;
                    if (side * child.face.forward.x < 0.5) return "the face does not";
                    if (word == std::string("trunk-rotates") && side * child.trunk.forward.x < 0.5)
                      return "the trunk does not";
                    return {};
                  }),
          1, faults);
}
