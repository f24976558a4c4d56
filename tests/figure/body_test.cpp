#include <cmath>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "figure/support.hpp"

using namespace evenhand;
using namespace evenhand::figure;

TEST_CASE("two bones keep their lengths wherever they are to go", "[property]") {
  base::Random random(7);
  for (int i = 0; i < 2000; ++i) {
    const auto draw = [&] { return 80 * (random.uniform() - 0.5); };
    const Point from{draw(), draw(), draw()}, to{draw(), draw(), draw()}, pole{draw(), draw(), draw()};
    const auto bones = two_bones(from, to, 19, 23, pole);
    CHECK(distance(from, bones.middle) == Approx(19).margin(1e-9));
    CHECK(distance(bones.middle, bones.end) == Approx(23).margin(1e-9));
    if (const double far = distance(from, to); far > 4.1 && far < 41.9)
      CHECK(distance(bones.end, to) == Approx(0).margin(1e-9));
  }
}

TEST_CASE("two bones that are too short point at where they were to go", "[edge]") {
  const auto bones = two_bones({0, 0, 0}, {0, 0, -100}, 19, 23, {0, 1, 0});
  CHECK(bones.end.z == Approx(-42).margin(1e-5));
  CHECK(bones.middle.z == Approx(-19).margin(1e-2));
}

TEST_CASE("a body that would stand taller than its legs stands as tall as they let it") {
  auto channels = test::poses().rest.at("child");
  channels[channel::pelvis + 2] = 80;
  const auto& lengths = test::poses().lengths_of("child");
  const auto body = solve(lengths, channels, false);
  const double tallest = lengths.ankle + lengths.shank + lengths.thigh;
  CHECK(body.joint("pelvis").z < tallest);
  CHECK(body.joint("pelvis").z > 0.98 * tallest);
  CHECK(body.joint("left-ankle").z == Approx(lengths.ankle));
}

TEST_CASE("turning a body to the left brings its front to its left") {
  auto channels = test::poses().rest.at("child");
  channels[channel::turn] = 90;
  const auto body = solve(test::poses().lengths_of("child"), channels, true);
  CHECK(body.face.forward.x == Approx(1).margin(1e-9));
  CHECK(body.joint("left-toe").x > body.joint("left-heel").x + 10);
}

TEST_CASE("from the front the child's left is to the right, and from the side she faces right") {
  const auto* front = test::poses().view("front");
  const auto* side = test::poses().view("side");
  CHECK(project({10, 0, 0}, *front).x > project({-10, 0, 0}, *front).x);
  CHECK(project({0, 10, 0}, *side).x > project({0, -10, 0}, *side).x);
  CHECK(project({0, 0, 10}, *front).y < project({0, 0, 0}, *front).y);
}

TEST_CASE("the places of the channels are those of the groups") {
  CHECK(find_group("at")->offset == channel::at);
  CHECK(find_group("turn")->offset == channel::turn);
  CHECK(find_group("pelvis")->offset == channel::pelvis);
  CHECK(find_group("trunk")->offset == channel::trunk);
  CHECK(find_group("head")->offset == channel::head);
  CHECK(find_group("left-arm")->offset == channel::arms);
  CHECK(find_group("left-foot")->offset == channel::feet);
  CHECK(find_group("left-spin")->offset == channel::spins);
  CHECK(find_group("eyes")->offset == channel::eyes);
  CHECK(find_group("toes")->offset == channel::toes);
  CHECK(find_group("sway")->offset == channel::sway);
  CHECK(channel::count == channel::sway + 2);
}
