#include "figure/track.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace evenhand::figure {
namespace {

using cases::Moment;

double eased(double x, Ease ease) {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (ease == Ease::in) return x * x;
  if (ease == Ease::out) return x * (2 - x);
  return x * x * (3 - 2 * x);
}

std::string other_side(std::string name) {
  if (const auto at = name.find("left"); at != std::string::npos) return name.replace(at, 4, "right");
  if (const auto at = name.find("right"); at != std::string::npos) return name.replace(at, 5, "left");
  return name;
}

// Whether the i-th number of a group changes its sign in a mirror.
bool changes_sign(std::string_view group, std::size_t i) {
  if (group == "at" || group == "turn" || group == "pelvis" || group.ends_with("-spin")) return i == 0;
  if (group == "trunk" || group == "head") return i == 1 || i == 2;
  if (group.ends_with("-foot")) return i == 0 || i == 4;
  return false;
}

std::pair<std::string, Numbers> mirrored(const std::string& group, Numbers numbers, bool flip) {
  if (!flip) return {group, std::move(numbers)};
  for (std::size_t i = 0; i < numbers.size(); ++i)
    if (changes_sign(group, i)) numbers[i] = -numbers[i];
  return {other_side(group), std::move(numbers)};
}

bool has(const std::vector<std::string>& words, std::string_view word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

bool has(const Moment& moment, std::string_view word) {
  return has(moment.poses, word) || has(moment.contacts, word) || has(moment.helpers, word) ||
         has(moment.events, word);
}

bool sideways(const std::optional<cases::Toward>& toward) {
  return toward == cases::Toward::left || toward == cases::Toward::right;
}

class Maker {
 public:
  Maker(std::span<const Moment> timeline, const Poses& poses) : timeline_(timeline), poses_(poses) {
    for (const auto& [name, word] : poses.words)
      if (!word.mirrors.empty()) mirrored_.insert(word.mirrors);
    for (const auto& [name, rest] : poses.rest) {
      auto& body = track_.bodies[name];
      body.rest = rest;
      body.stretches.resize(channel::count);
      body.motions.resize(channel::count);
    }
  }

  Track make() {
    for (std::size_t i = 0; i < timeline_.size(); ++i) {
      const auto& moment = timeline_[i];
      for (const auto& word : moment.poses) play(word, true, i);
      for (const auto& word : moment.contacts) play(word, false, i);
      for (const auto& word : moment.helpers) play(word, false, i);
      for (const auto& word : moment.events) play(word, false, i);
    }
    lift_feet();
    return std::move(track_);
  }

 private:
  void play(const std::string& word, bool is_pose, std::size_t index) {
    track_.words.insert(word);
    const auto own = poses_.words.find(word);
    if (own == poses_.words.end()) return;
    const bool is_mirror = !own->second.mirrors.empty();
    const auto& base = is_mirror ? own->second.mirrors : word;
    const auto* way = choose(base, timeline_[index]);
    const bool flip = way != nullptr && flips(*way, base, is_mirror, is_pose, timeline_[index]);
    if (is_pose) {
      pose_ = base;
      if (base != "falling") flip_ = flip;
    }
    if (way != nullptr)
      for (const auto& part : way->parts) add(part, part.who.empty() ? way->who : part.who, flip, index);
  }

  bool flips(const Way& way, const std::string& base, bool is_mirror, bool is_pose,
             const Moment& moment) const {
    if (sideways(way.toward) && sideways(moment.toward)) return way.toward != moment.toward;
    if (!way.side) return false;
    if (is_mirror) return true;
    if (mirrored_.contains(base)) return false;
    if (moment.side && !way.follows) return moment.side != way.side;
    return !is_pose && flip_;
  }

  // Of the ways that hold in this pose, or else of those that hold in any, the one whose turn it is.
  const Way* choose(const std::string& word, const Moment& moment) {
    const auto& ways = poses_.words.at(word).ways;
    std::vector<const Way*> own, other;
    for (const auto& way : ways) {
      if (way.alone && !moment.poses.empty()) continue;
      if (way.poses.empty())
        other.push_back(&way);
      else if (has(way.poses, pose_))
        own.push_back(&way);
    }
    auto& holding = own.empty() ? other : own;
    if (moment.toward) {
      std::vector<const Way*> there;
      for (const auto* way : holding)
        if (way->toward == moment.toward || (sideways(way->toward) && sideways(moment.toward)))
          there.push_back(way);
      if (!there.empty()) holding = there;
    }
    if (holding.empty()) return nullptr;
    return holding[turns_[{word, holding.front() - ways.data()}]++ % holding.size()];
  }

  void add(const Part& part, const std::string& who, bool flip, std::size_t index) {
    const auto& moment = timeline_[index];
    const auto come = [&](const std::string& word) {
      return track_.words.contains(word) || has(moment, word);
    };
    if (!part.when.empty() && std::none_of(part.when.begin(), part.when.end(), come)) return;
    if (std::any_of(part.unless.begin(), part.unless.end(), come)) return;
    const bool own = flip && who == "child";
    auto& body = track_.bodies[who];
    const double at = moment.at;
    // What a trial begins with is there from the start.
    const double begin = at == 0 ? 0 : std::max(at + part.takes[0], 0.0),
                 end = at == 0 ? 0 : at + part.takes[1];
    for (const auto& [name, numbers] : part.to) {
      const auto [group, changed] = mirrored(name, numbers, own);
      for (std::size_t i = 0; i < changed.size(); ++i)
        stretch(body, find_group(group)->offset + i, {0, changed[i], begin, end, part.ease, at});
    }
    for (const auto& [name, rows] : part.adds) move(body, name, part.at, rows, at, own);
    if (part.reaches) reach(body, *part.reaches * coming_reach(index), begin, end, part.ease, at, own);
    if (part.hand) {
      const bool left = (*part.hand == Side::left) != own;
      (left ? body.left_hand : body.right_hand)
          .push_back({begin, end, part.ease, flip ? other_side(part.point) : part.point, part.hand_ring, 0});
    } else if (!part.ring.empty()) {
      track_.rings.push_back({at + part.takes[0], std::min(at + part.takes[1], first(part.until, index)),
                              own ? other_side(part.ring) : part.ring});
    }
    if (part.holds) track_.held = std::min(track_.held, at);
    if (part.turns != 0.0) {
      // A turn that is not said to be done stops half way.
      const double angle = turn_is_done(index) ? part.turns : part.turns / 2;
      turn(body, at, next_pose(index), own ? -angle : angle, own);
    }
    if (part.steps != 0.0) step(body, at, next_pose(index), part.steps);
  }

  // How far the hand comes in the end: what the next moment says that says it; else half way of what there
  // is.
  double coming_reach(std::size_t index) const {
    for (std::size_t i = index; i < timeline_.size(); ++i)
      if (timeline_[i].reach) return *timeline_[i].reach;
    return 0.5 * poses_.reaching.shares.back()[0];
  }

  void reach(BodyTrack& body, double far, double begin, double end, Ease ease, double at, bool flip) const {
    const auto& [from, to, shares, point] = poses_.reaching;
    std::size_t i = 1;
    while (i + 1 < shares.size() && far > shares[i][0]) ++i;
    const double share = shares[i - 1][1] + (shares[i][1] - shares[i - 1][1]) * (far - shares[i - 1][0]) /
                                                (shares[i][0] - shares[i - 1][0]);
    for (std::size_t k = 0; k < to.size(); ++k) {
      const auto [name, first] = mirrored(from[k].first, from[k].second, flip);
      const auto [same, last] = mirrored(to[k].first, to[k].second, flip);
      for (std::size_t c = 0; c < first.size(); ++c)
        stretch(body, find_group(name)->offset + c,
                {0, first[c] + share * (last[c] - first[c]), begin, end, ease, at});
    }
    (flip ? body.left_hand : body.right_hand)
        .push_back({begin, end, ease, flip ? other_side(point) : point, false, far});
  }

  double first(const std::vector<std::string>& words, std::size_t index) const {
    for (std::size_t i = index + 1; i < timeline_.size(); ++i)
      for (const auto& word : words)
        if (has(timeline_[i], word)) return timeline_[i].at;
    return std::numeric_limits<double>::infinity();
  }

  bool turn_is_done(std::size_t index) const {
    for (std::size_t i = index + 1; i < timeline_.size(); ++i) {
      if (has(timeline_[i], "turn-done")) return true;
      if (!timeline_[i].poses.empty()) return false;
    }
    return false;
  }

  double next_pose(std::size_t index) const {
    for (std::size_t i = index + 1; i < timeline_.size(); ++i)
      if (!timeline_[i].poses.empty()) return timeline_[i].at;
    return timeline_[index].at + 4;
  }

  static double last_of(const BodyTrack& body, std::size_t channel) {
    const auto& all = body.stretches[channel];
    return all.empty() ? body.rest[channel] : all.back().to;
  }

  static void stretch(BodyTrack& body, std::size_t channel, Stretch next) {
    auto& all = body.stretches[channel];
    while (!all.empty() && all.back().at == next.at && all.back().end > next.begin) all.pop_back();
    if (!all.empty() && next.begin < all.back().end) {
      auto& last = all.back();
      const double middle =
          last.end > last.at ? last.at + 0.5 * (std::min(last.end, next.at) - last.at) : last.at;
      next.begin = std::min(std::max(next.begin, middle), last.end);
      next.end = std::max(next.end, next.begin);
      last.begin = std::min(last.begin, next.begin);
      last.end = std::min(last.end, next.begin);
    }
    next.from = last_of(body, channel);
    all.push_back(next);
  }

  static void move(BodyTrack& body, const std::string& name, const Numbers& times,
                   const std::vector<Numbers>& rows, double at, bool flip) {
    Motion motion;
    for (const double time : times) motion.times.push_back(at + time);
    std::vector<Numbers> changed;
    for (const auto& row : rows) changed.push_back(mirrored(name, row, flip).second);
    const auto* group = find_group(flip ? other_side(name) : name);
    for (std::size_t i = 0; i < group->size; ++i) {
      motion.values.clear();
      for (const auto& row : changed) motion.values.push_back(row[i]);
      if (std::any_of(motion.values.begin(), motion.values.end(), [](double v) { return v != 0.0; }))
        body.motions[group->offset + i].push_back(motion);
    }
  }

  // A turn on the spot: the feet step round in turn, the body goes with them.
  static void turn(BodyTrack& body, double at, double until, double angle, bool flip) {
    // Of a slow turn every step is slower: were there more of them, the first would be too small to be seen.
    const int steps = std::clamp(static_cast<int>(std::floor((until - at) / 0.42 + 0.5)), 6, 24);
    const auto channel = find_group("turn")->offset;
    const double from = last_of(body, channel);
    stretch(body, channel, {0, from + angle, at, until, Ease::smooth, at});
    const std::array feet{find_group(flip ? "right-spin" : "left-spin")->offset,
                          find_group(flip ? "left-spin" : "right-spin")->offset};
    for (int i = 0; i < steps; ++i) {
      const double begin = at + ((until - at) * i) / steps, end = at + ((until - at) * (i + 1)) / steps;
      const double middle = i + 2 >= steps ? 1 : (i + 1.5) / steps;
      const double share = middle * middle * (3 - 2 * middle);
      stretch(body, feet[static_cast<std::size_t>(i % 2)],
              {0, from + angle * share, begin, end, Ease::smooth, begin});
    }
  }

  // Steps: forward by one, then on the spot.
  static void step(BodyTrack& body, double at, double until, double far) {
    const int n = std::max(2, static_cast<int>(std::floor((until - at) / 0.5 + 0.5)));
    const std::array feet{find_group("left-foot")->offset, find_group("right-foot")->offset};
    const auto time = [&](int i) { return at + ((until - at) * i) / n; };
    for (int i = 0; i < 2; ++i) {
      const auto channel = feet[static_cast<std::size_t>(i)] + 1;
      stretch(body, channel, {0, last_of(body, channel) + far, time(i), time(i + 1), Ease::smooth, time(i)});
    }
    const auto pelvis = find_group("pelvis")->offset + 1;
    stretch(body, pelvis, {0, last_of(body, pelvis) + far, at, time(2), Ease::smooth, at});
    for (int i = 2; i < n; ++i)
      body.motions[feet[static_cast<std::size_t>(i % 2)] + 2].push_back(
          {{time(i), (time(i) + time(i + 1)) / 2, time(i + 1)}, {0, 5, 0}});
  }

  // A foot that is down and goes elsewhere is lifted on its way.
  void lift_feet() {
    auto& body = track_.bodies["child"];
    for (const auto side : {Side::left, Side::right}) {
      const auto foot = find_group(fmt::format("{}-foot", cases::to_string(side)))->offset;
      const auto spin = find_group(fmt::format("{}-spin", cases::to_string(side)))->offset;
      const auto low = [&](double t) {
        return value_at(body.stretches[foot + 2], body.rest[foot + 2], t) < 0.5;
      };
      const std::pair<std::size_t, double> moving[] = {
          {foot, 0.3}, {foot + 1, 0.3}, {foot + 4, 3}, {spin, 3}};
      for (const auto& [channel, least] : moving)
        for (const auto& way : body.stretches[channel]) {
          if (std::abs(way.to - way.from) < least || way.end - way.begin < 1e-6) continue;
          if (!low(way.begin) || !low(way.end)) continue;
          auto& lifts = body.motions[foot + 2];
          if (std::none_of(lifts.begin(), lifts.end(), [&](const Motion& m) {
                return m.times.front() == way.begin && m.times.back() == way.end;
              }))
            lifts.push_back({{way.begin, (way.begin + way.end) / 2, way.end}, {0, 5, 0}});
        }
    }
  }

  std::span<const Moment> timeline_;
  const Poses& poses_;
  std::set<std::string, std::less<>> mirrored_;  // words that have a mirror
  std::map<std::pair<std::string, std::ptrdiff_t>, std::size_t> turns_;
  std::string pose_;
  bool flip_ = false;
  Track track_;
};

}  // namespace

Track make_track(std::span<const Moment> timeline, const Poses& poses) {
  return Maker(timeline, poses).make();
}

double value_at(std::span<const Stretch> stretches, double rest, double t) {
  double value = rest;
  for (const auto& s : stretches) {
    if (t < s.begin) break;
    value = t >= s.end ? s.to : s.from + (s.to - s.from) * eased((t - s.begin) / (s.end - s.begin), s.ease);
  }
  return value;
}

double added_at(const Motion& motion, double t) {
  const auto& times = motion.times;
  if (t <= times.front() || t >= times.back()) return 0;
  std::size_t i = 1;
  while (t > times[i]) ++i;
  return motion.values[i - 1] + (motion.values[i] - motion.values[i - 1]) *
                                    eased((t - times[i - 1]) / (times[i] - times[i - 1]), Ease::smooth);
}

double weight_at(const Hold& hold, double t) {
  if (t < hold.begin) return 0;
  if (t >= hold.end) return 1;
  return eased((t - hold.begin) / (hold.end - hold.begin), hold.ease);
}

}  // namespace evenhand::figure
