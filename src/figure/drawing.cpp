#include "figure/drawing.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace evenhand::figure {
namespace {

// A number of a picture: two decimals at most.
std::string number(double x) {
  auto text = fmt::format("{:.2f}", x);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

struct Flat {
  double x = 0.0, y = 0.0;
};

constexpr std::array sides{"left", "right"};

std::string joint(std::string_view side, std::string_view name) { return fmt::format("{}-{}", side, name); }

class Drawer {
 public:
  Drawer(const State& state, const Poses& poses, std::string_view view)
      : state_(state), poses_(poses), view_(*poses.view(view)), view_name_(view) {
    const auto& child = state.bodies.at("child");
    chest_ = near(between(child.joint("pelvis"), child.joint("neck")));
  }

  std::vector<Element> draw() {
    for (const auto& name : state_.scenery) scenery(name);
    std::vector<std::string> order;
    for (const auto& [name, body] : state_.bodies)
      if (name != "child") order.push_back(name);
    std::stable_sort(order.begin(), order.end(), [&](const auto& a, const auto& b) {
      return near(state_.bodies.at(a).joint("pelvis")) < near(state_.bodies.at(b).joint("pelvis"));
    });
    order.emplace_back("child");
    for (const auto& name : order) body(name);
    for (const auto& name : order)
      for (const auto* side : sides)
        if (round(name, side)) arm(name, side, "");
    for (const auto& contact : state_.contacts) circle(contact.at, 5, "fig-ring");
    return std::move(out_);
  }

 private:
  Projected at(const Point& p) const { return project(p, view_); }
  double near(const Point& p) const { return at(p).near; }

  void flat(const std::vector<Flat>& points, std::string css, bool closed = false) {
    std::string d;
    for (const auto& p : points) d += fmt::format("{}{} {}", d.empty() ? 'M' : 'L', number(p.x), number(p.y));
    if (closed) d += 'Z';
    out_.push_back({"path", std::move(css), {{"d", std::move(d)}}});
  }
  void path(const std::vector<Point>& points, std::string css, bool closed = false) {
    std::vector<Flat> places;
    for (const auto& p : points) places.push_back({at(p).x, at(p).y});
    flat(places, std::move(css), closed);
  }
  void circle(const Point& p, double radius, std::string css) {
    out_.push_back({"circle",
                    std::move(css),
                    {{"cx", number(at(p).x)}, {"cy", number(at(p).y)}, {"r", number(radius * view_.scale)}}});
  }

  static std::string who(const std::string& name) { return name == "child" ? "fig-child" : "fig-adult"; }

  // An adult's arm that comes round the front of the child is drawn over her.
  bool round(const std::string& name, std::string_view side) const {
    return name != "child" && near(state_.bodies.at(name).joint(joint(side, "hand"))) > chest_ + 3;
  }

  void arm(const std::string& name, std::string_view side, const std::string& css) {
    const auto& body = state_.bodies.at(name);
    const auto& hand = body.joint(joint(side, "hand"));
    path({body.joint(joint(side, "shoulder")), body.joint(joint(side, "elbow")), hand},
         fmt::format("fig-limb fig-arm {}{}", who(name), css));
    circle(hand, name == "child" ? 2.6 : 3.4, fmt::format("fig-hand {}{}", who(name), css));
  }

  void leg(const std::string& name, std::string_view side, const std::string& css) {
    const auto& body = state_.bodies.at(name);
    const auto j = [&](std::string_view part) { return body.joint(joint(side, part)); };
    path({j("hip"), j("knee"), j("ankle")}, fmt::format("fig-limb {}{}", who(name), css));
    path({j("heel"), j("ball"), j("knuckle"), j("toe")}, fmt::format("fig-foot {}{}", who(name), css));
    path({j("ankle"), j("heel")}, fmt::format("fig-foot {}{}", who(name), css));
  }

  void body(const std::string& name) {
    const auto& body = state_.bodies.at(name);
    const auto& lengths = poses_.lengths_of(name);
    const auto depth = [&](const char* part) { return near(body.joint(part)); };
    const bool left_near = depth("left-hip") >= depth("right-hip");
    const bool left_arm_near = depth("left-shoulder") >= depth("right-shoulder");
    const bool aside = std::abs(depth("left-hip") - depth("right-hip")) > lengths.hips;
    const auto far = [&](std::string_view side, bool near_left) {
      return std::string(aside && (side == "left") != near_left ? " fig-far" : "");
    };
    const std::array<const char*, 2> legs{left_near ? "right" : "left", left_near ? "left" : "right"};
    const std::array<const char*, 2> arms{left_arm_near ? "right" : "left", left_arm_near ? "left" : "right"};
    // An arm behind the trunk is drawn before it.
    const double middle = near(between(body.joint("pelvis"), body.joint("neck")));
    const auto behind = [&](std::string_view side) {
      return near(body.joint(joint(side, "hand"))) + near(body.joint(joint(side, "elbow"))) < 2 * middle;
    };
    for (const auto* side : arms)
      if (behind(side) && !round(name, side)) arm(name, side, far(side, left_arm_near));
    leg(name, legs[0], far(legs[0], left_near));
    leg(name, legs[1], "");
    trunk(body, lengths, who(name));
    path({body.joint("neck"), plus(body.joint("head"), body.face.up, -lengths.head)},
         "fig-limb fig-neck " + who(name));
    head(name, lengths.head);
    for (const auto* side : arms)
      if (!behind(side) && !round(name, side)) arm(name, side, far(side, left_arm_near));
  }

  // The trunk as it is seen: elliptic across, as wide as the turn makes it; the row of buttons is its front.
  void trunk(const Body& body, const Lengths& lengths, const std::string& css) {
    const Point pelvis = body.joint("pelvis"), neck = body.joint("neck");
    const Point low = plus(pelvis, body.trunk.up, -2);
    const double broad = std::abs(at(plus(low, body.trunk.left)).x - at(low).x) / view_.scale;
    const double deep = std::abs(at(plus(low, body.trunk.forward)).x - at(low).x) / view_.scale;
    const auto wide = [&](double x, double y) { return std::hypot(x * broad, y * deep); };
    const auto a = at(low), b = at(neck);
    const double length = std::hypot(b.x - a.x, b.y - a.y);
    const Flat across = length > 2 ? Flat{-(b.y - a.y) / length, (b.x - a.x) / length} : Flat{1, 0};
    const double deepest = 0.2 * lengths.trunk;
    const double top = wide(lengths.shoulders, deepest * 0.8), bottom = wide(lengths.hips, deepest);
    const auto corner = [&](const Projected& from, double far) {
      return Flat{from.x + view_.scale * far * across.x, from.y + view_.scale * far * across.y};
    };
    flat({corner(b, top), corner(b, -top), corner(a, -bottom), corner(a, bottom)}, "fig-trunk " + css, true);
    const Point high = between(pelvis, neck, 0.9);
    const Point front = plus(high, body.trunk.forward, 4.5);
    if (near(front) > near(high) - 1)
      path({front, plus(between(pelvis, neck, 0.35), body.trunk.forward, 5)}, "fig-mark " + css);
  }

  void head(const std::string& name, double r) {
    const auto& body = state_.bodies.at(name);
    const auto css = who(name);
    const Point center = body.joint("head");
    const auto on = [&](double left, double forward, double up) {
      return plus(plus(plus(center, body.face.left, r * left), body.face.forward, r * forward), body.face.up,
                  r * up);
    };
    const auto seen = [&](const Point& p) { return near(p) > near(center) - 0.1 * r; };
    circle(center, r, "fig-head " + css);
    // Hair shows which way the head faces: what of it is on the near side is seen.
    const auto hair = [&](const std::vector<Point>& points) {
      for (std::size_t i = 1; i < points.size(); ++i) {
        const Point from = on(points[i - 1].x, points[i - 1].y, points[i - 1].z);
        const Point to = on(points[i].x, points[i].y, points[i].z);
        if (near(between(from, to)) > near(center) - 0.15 * r) path({from, to}, "fig-hair " + css);
      }
    };
    hair({{0, 0.55, 0.84},
          {0, 0.2, 0.98},
          {0, -0.25, 0.97},
          {0, -0.62, 0.78},
          {0, -0.88, 0.48},
          {0, -1, 0.1},
          {0, -0.96, -0.3}});
    hair({{-0.95, -0.1, 0.3},
          {-0.8, 0.02, 0.6},
          {-0.45, 0.1, 0.89},
          {0, 0.15, 0.99},
          {0.45, 0.1, 0.89},
          {0.8, 0.02, 0.6},
          {0.95, -0.1, 0.3}});
    for (const double x : {-0.5, 0.5}) hair({{x, -0.5, 0.7}, {x, -0.82, 0.28}, {x, -0.84, -0.2}});
    if (seen(on(0, 1, -0.1)))
      path({on(0, 0.98, 0.08), on(0, 1.14, -0.1), on(0, 0.97, -0.18)}, "fig-line " + css);
    for (const double x : {-0.4, 0.4})
      if (seen(on(x, 0.9, 0.16))) eye(on, x, name == "child", css);
    if (seen(on(0, 0.9, -0.45)))
      path({on(-0.22, 0.88, -0.42), on(0, 0.92, -0.48), on(0.22, 0.88, -0.42)}, "fig-line " + css);
  }

  template <class On>
  void eye(const On& on, double x, bool child, const std::string& css) {
    if (!child || state_.eyes > 0.5) return circle(on(x, 0.9, 0.16), child ? 1.5 : 1.2, "fig-eye " + css);
    const double lid = 0.04 + 0.1 * state_.flutter;
    path({on(x - 0.2, 0.9, 0.18), on(x, 0.95, 0.18 - lid), on(x + 0.2, 0.9, 0.18)}, "fig-lid " + css);
    for (const double k : {-0.12, 0.0, 0.12})
      path({on(x + k, 0.95, 0.14 - lid / 2), on(x + 1.3 * k, 0.98, -0.02 - lid)}, "fig-lash " + css);
  }

  void scenery(const std::string& name) {
    const auto found = std::find_if(poses_.scenery.begin(), poses_.scenery.end(),
                                    [&](const auto& each) { return each.first == name; });
    const auto& thing = found->second;
    if (!thing.views.empty() &&
        std::find(thing.views.begin(), thing.views.end(), view_name_) == thing.views.end())
      return;
    for (const auto& box : thing.boxes) draw_box(box, name == "eraser" ? state_.held : std::nullopt);
    for (const auto& line : thing.lines) path(line, "fig-line-thing");
    if (!thing.ticks) return;
    for (int i = 0; i < thing.ticks->count; ++i) {
      const Point foot = plus(thing.ticks->from, thing.ticks->step, i);
      path({foot, plus(foot, thing.ticks->up, i % thing.ticks->longer == 0 ? 2 : 1)}, "fig-line-thing");
    }
  }

  void draw_box(const std::array<double, 6>& box, const std::optional<Point>& held) {
    const auto [x0, x1, y0, y1, z0, z1] = box;
    const Point shift =
        held ? Point{held->x - (x0 + x1) / 2, held->y - (y0 + y1) / 2, held->z - z1} : Point{0, 0, 0};
    const auto p = [&](double x, double y, double z) { return plus({x, y, z}, shift); };
    if (z1 > z0) {
      path({p(x0, y1, z0), p(x1, y1, z0), p(x1, y1, z1), p(x0, y1, z1)}, "fig-thing", true);
      path({p(x0, y0, z0), p(x0, y1, z0), p(x0, y1, z1), p(x0, y0, z1)}, "fig-thing", true);
    }
    path({p(x0, y0, z1), p(x1, y0, z1), p(x1, y1, z1), p(x0, y1, z1)}, z1 > 0 ? "fig-thing" : "fig-floor",
         true);
  }

  const State& state_;
  const Poses& poses_;
  const View& view_;
  std::string_view view_name_;
  double chest_ = 0.0;
  std::vector<Element> out_;
};

}  // namespace

std::vector<Element> drawing(const State& state, const Poses& poses, std::string_view view) {
  return Drawer(state, poses, view).draw();
}

}  // namespace evenhand::figure
