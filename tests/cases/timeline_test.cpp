#include "cases/timeline.hpp"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include <catch2/catch.hpp>

using namespace evenhand::cases;
namespace instrument = evenhand::instrument;

namespace {

// Observations by place, as an instrument would list them.
constexpr std::size_t hold = 0, ended = 1, near_loss = 2, placed = 3, taps = 4, position = 5, distance = 6;
// Places of values.
constexpr std::size_t time_called = 0, moved = 1, touched = 2;
constexpr std::size_t none = 0, some = 1;
constexpr std::size_t self = 0, helped = 1;

std::vector<instrument::Derivation> rules() {
  return {
      {ended,
       instrument::Which{{{"foot-moves", moved}, {"hand-on-wall", touched}, {"time-called", time_called}},
                         hold}},
      {near_loss, instrument::Seen{{"near-loss"}, instrument::Where::between, hold, some, none}},
      {placed, instrument::Seen{{"places"}, instrument::Where::before, hold, helped, self}},
      {taps, instrument::Count{{"tap-left", "tap-right"}, {"time-called"}}},
      {position, instrument::PoseAt{"position-taken", {{"heel-to-toe", 0}, {"step-ahead", 1}}}},
      {hold, instrument::Span{{"position-taken"}, {"foot-moves", "hand-on-wall", "time-called"}}},
      {distance, instrument::ReachAt{"reach-furthest", 2.54}},
  };
}

Moment pose(double at, std::vector<std::string> ids) { return {.at = at, .poses = std::move(ids)}; }
Moment event(double at, std::vector<std::string> ids) { return {.at = at, .events = std::move(ids)}; }
Moment contact(double at, std::vector<std::string> ids) { return {.at = at, .contacts = std::move(ids)}; }
Moment helper(double at, std::vector<std::string> ids) { return {.at = at, .helpers = std::move(ids)}; }

double value(const TimelineFacts& facts, std::size_t observation) {
  const auto found = facts.value_of(observation);
  REQUIRE(found);
  return *found;
}

std::string why_not(const TimelineFacts& facts, std::size_t observation) {
  for (const auto& shown : facts.shown)
    if (shown.observation == observation && !shown.value) return shown.why_not;
  return "it is shown";
}

}  // namespace

TEST_CASE("a hold runs from the position to the first event that ends it") {
  const std::vector<Moment> timeline{pose(0, {"standing"}),           pose(2.1, {"heel-to-toe"}),
                                     event(2.6, {"position-taken"}),  event(9.0, {"sways"}),
                                     contact(23.3, {"hand-on-wall"}), event(25.0, {"foot-moves"}),
                                     event(33.0, {"time-called"})};
  const auto facts = facts_of(timeline, rules());
  CHECK(value(facts, hold) == 20.7);
  CHECK(value(facts, ended) == touched);
  CHECK(value(facts, position) == 0);
  REQUIRE(facts.stretches.size() == 1);
  CHECK(facts.stretches[0].from == 2.6);
  CHECK(facts.stretches[0].to == 23.3);
}

TEST_CASE("a hold of 30 s is 30 to the bit wherever it begins") {
  // In binary fractions 32.2 - 2.2 is not 30, nor is 33.7 - 3.7.
  for (int tenth = 0; tenth < 3000; ++tenth) {
    const std::vector<Moment> timeline{event(tenth / 10.0, {"position-taken"}),
                                       event((tenth + 300) / 10.0, {"time-called"})};
    REQUIRE(value(facts_of(timeline, rules()), hold) == 30.0);
  }
}

TEST_CASE("what would end a hold does not end it before it has begun") {
  const std::vector<Moment> timeline{event(0.5, {"foot-moves"}), event(2.6, {"position-taken"}),
                                     event(32.6, {"time-called"})};
  const auto facts = facts_of(timeline, rules());
  CHECK(value(facts, hold) == 30.0);
  CHECK(value(facts, ended) == time_called);
}

TEST_CASE("of what happens in one instant, the position comes before the event that ends it") {
  const std::vector<Moment> timeline{event(2.6, {"position-taken", "foot-moves"})};
  const auto facts = facts_of(timeline, rules());
  CHECK(value(facts, hold) == 0.0);
  CHECK(value(facts, ended) == moved);
}

TEST_CASE("a near-loss counts inside the hold, ends included, and nowhere else") {
  const auto with_loss_at = [](double at) {
    std::vector<Moment> timeline{event(2.0, {"position-taken"}), event(12.0, {"foot-moves"})};
    const auto place =
        std::find_if(timeline.begin(), timeline.end(), [&](const Moment& m) { return m.at > at; });
    timeline.insert(place, event(at, {"near-loss"}));
    return value(facts_of(timeline, rules()), near_loss);
  };
  CHECK(with_loss_at(1.0) == none);
  CHECK(with_loss_at(7.0) == some);
  CHECK(with_loss_at(13.0) == none);
  const std::vector<Moment> at_the_end{event(2.0, {"position-taken"}),
                                       event(12.0, {"near-loss", "foot-moves"})};
  CHECK(value(facts_of(at_the_end, rules()), near_loss) == some);
}

TEST_CASE("help with the position counts only before the hold") {
  const std::vector<Moment> before{helper(1.0, {"places"}), event(2.0, {"position-taken"}),
                                   event(9.0, {"foot-moves"})};
  CHECK(value(facts_of(before, rules()), placed) == helped);
  const std::vector<Moment> after{event(2.0, {"position-taken"}), helper(3.0, {"places"}),
                                  event(9.0, {"foot-moves"}), helper(11.0, {"places"})};
  CHECK(value(facts_of(after, rules()), placed) == self);
}

TEST_CASE("touches are counted up to the moment that closes the count") {
  const std::vector<Moment> timeline{event(1.0, {"tap-left"}), event(2.0, {"tap-right"}),
                                     event(3.0, {"tap-left"}), event(4.0, {"time-called"}),
                                     event(5.0, {"tap-right"})};
  CHECK(value(facts_of(timeline, rules()), taps) == 3);
  CHECK(value(facts_of({timeline.data(), 2}, rules()), taps) == 2);
  CHECK(value(facts_of({}, rules()), taps) == 0);
}

TEST_CASE("what a timeline does not show is said in words, not guessed") {
  const std::vector<Moment> never_taken{pose(0, {"standing"}), event(4.0, {"near-loss"})};
  const auto facts = facts_of(never_taken, rules());
  CHECK(why_not(facts, hold) == "it does not begin: `position-taken` never comes");
  CHECK(why_not(facts, ended) == "none of the moments that tell it comes");
  CHECK(why_not(facts, near_loss) == "the stretch in which it is looked for is not there");
  CHECK(why_not(facts, position) == "`position-taken` never comes");
  CHECK(value(facts, placed) == self);
  CHECK(facts.stretches.empty());

  const std::vector<Moment> never_ended{pose(0, {"one-leg-left"}), event(4.0, {"position-taken"})};
  const auto open = facts_of(never_ended, rules());
  CHECK(why_not(open, hold) ==
        "it does not end: `foot-moves` or `hand-on-wall` or `time-called` never comes");
  CHECK(why_not(open, position) == "the pose at `position-taken` is `one-leg-left`, which does not tell it");
}

TEST_CASE("a fall before the position is taken still tells how it ended") {
  const std::vector<Moment> timeline{pose(0, {"standing"}), event(1.0, {"foot-moves"})};
  CHECK(value(facts_of(timeline, rules()), ended) == moved);
}

TEST_CASE("how far a hand comes is the reach of the first such moment, in the unit of the observation") {
  auto far = event(6.0, {"reach-furthest"});
  far.reach = 25.4;
  auto again = event(8.0, {"reach-furthest"});
  again.reach = 12.7;
  CHECK(value(facts_of(std::vector<Moment>{pose(0, {"arm-raised"}), far, again}, rules()), distance) == 10.0);
  CHECK(value(facts_of(std::vector<Moment>{pose(0, {"arm-raised"}), again}, rules()), distance) == 5.0);
}

TEST_CASE("a reach that nobody measured is not made up", "[edge]") {
  const std::vector<Moment> none{pose(0, {"arm-raised"})};
  CHECK(why_not(facts_of(none, rules()), distance).find("`reach-furthest`") != std::string::npos);
  const std::vector<Moment> unmeasured{pose(0, {"arm-raised"}), event(4.0, {"reach-furthest"})};
  CHECK(why_not(facts_of(unmeasured, rules()), distance) == "`reach-furthest` says no `reach`");
}
