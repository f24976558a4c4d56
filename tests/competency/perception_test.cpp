#include "competency/perception.hpp"

#include <cmath>

#include <catch2/catch.hpp>

#include "competency/small_instrument.hpp"

namespace evenhand::competency {
namespace {

// Places of values: near_loss none 0, some 1; guard near 0, hands-up 1; rise_hands none 0, bench 1.
constexpr std::size_t stand = 0;
constexpr std::size_t rise = 1;

SimulatedRater flawless() {
  return {
      .id = RaterId("r"), .slip = 0.0, .watch = {0.0, 0.0}, .ruler = {0.0, 0.0}, .goniometer = {0.0, 0.0}};
}

Perceived see(const SimulatedRater& rater, std::size_t item, std::vector<double> values,
              std::uint64_t stream = 0) {
  static const auto scoring = test::small_scoring();
  base::Random random(5, stream);
  return perceive({.values = std::move(values)}, rater, scoring, item, random);
}

}  // namespace

TEST_CASE("a flawless rater sees what there was") {
  CHECK(see(flawless(), stand, {9.87, 1, 0}).judged == std::vector<double>{9.87, 1, 0});
  CHECK(see(flawless(), rise, {1, 2}).written == std::vector<double>{1, 2});
}

TEST_CASE("watches read with the stated mean and spread") {
  SimulatedRater rater = flawless();
  rater.watch = {.mean = 0.12, .sd = 0.10};
  double sum = 0.0;
  double squares = 0.0;
  const int n = 4000;
  for (int k = 0; k < n; ++k) {
    const double error = see(rater, stand, {8.0, 0, 0}, static_cast<std::uint64_t>(k)).written[0] - 8.0;
    sum += error;
    squares += error * error;
  }
  const double mean = sum / n;
  CHECK(mean == Approx(0.12).margin(4 * 0.10 / std::sqrt(n)));
  CHECK(std::sqrt(squares / n - mean * mean) == Approx(0.10).margin(0.005));
}

// trade: with SD .10 and no bias a true 9.9 s reads 10.0 or more in 16 % of readings.
TEST_CASE("near a threshold the watch decides as often as it should", "[reference]") {
  SimulatedRater rater = flawless();
  rater.watch = {.mean = 0.0, .sd = 0.10};
  int past = 0;
  const int n = 4000;
  for (int k = 0; k < n; ++k)
    past += see(rater, stand, {9.9, 0, 0}, static_cast<std::uint64_t>(k)).written[0] >= 9.995 ? 1 : 0;
  CHECK(past / static_cast<double>(n) == Approx(0.171).margin(0.02));  // P(Z >= .95), readings in hundredths
}

TEST_CASE("what was not begun is not timed", "[edge]") {
  SimulatedRater rater = flawless();
  rater.watch = {.mean = 0.5, .sd = 0.1};
  CHECK(see(rater, stand, {0, 0, 0}).written[0] == 0.0);
}

TEST_CASE("habits misread the facts they name") {
  SimulatedRater rater = flawless();
  rater.habits = {guarding_habit()};
  CHECK(see(rater, stand, {12, 0, 1}).written == std::vector<double>{12, 1, 1});
  CHECK(see(rater, stand, {12, 0, 0}).written == std::vector<double>{12, 0, 0});
  rater.habits = {hands_habit()};
  CHECK(see(rater, rise, {1, 1}).written == std::vector<double>{0, 1});
}

TEST_CASE("habits about what an item does not observe do nothing", "[edge]") {
  SimulatedRater rater = flawless();
  rater.habits = {hands_habit(),
                  {.id = "x", .says = "", .misreads = {{.fact = "tail", .taken_for = "wags"}}}};
  CHECK(see(rater, stand, {12, 1, 1}).written == std::vector<double>{12, 1, 1});
  rater.habits = {{.id = "x", .says = "", .misreads = {{.fact = "near_loss", .taken_for = "dances"}}}};
  CHECK(see(rater, stand, {12, 1, 1}).written == std::vector<double>{12, 1, 1});
}

TEST_CASE("who rounds takes 9.6 for 10") {
  SimulatedRater rater = flawless();
  rater.habits = {rounding_habit()};
  CHECK(see(rater, stand, {9.6, 0, 0}).written[0] == 10.0);
  CHECK(see(rater, stand, {9.4, 0, 0}).written[0] == 9.0);
}

TEST_CASE("who is strict writes down what was, and judges by less") {
  SimulatedRater rater = flawless();
  rater.habits = {strict_habit()};
  const auto barely = see(rater, stand, {11.0, 0, 0});
  CHECK(barely.written[0] == 11.0);
  CHECK(barely.judged[0] < 10.0);
  CHECK(barely.judged[0] > 9.9);
  CHECK(see(rater, stand, {11.6, 0, 0}).judged[0] == 11.6);
  CHECK(see(rater, stand, {9.0, 0, 0}).judged[0] == 9.0);
}

TEST_CASE("a slip changes one fact to a neighbor, about as often as stated") {
  SimulatedRater rater = flawless();
  rater.slip = 0.5;
  int changed = 0;
  for (std::uint64_t k = 0; k < 1000; ++k) {
    const auto seen = see(rater, rise, {0, 3}, k).written;
    const double moved = std::abs(seen[0] - 0) + std::abs(seen[1] - 3);
    CHECK(moved <= 1.0);
    changed += moved > 0 ? 1 : 0;
  }
  CHECK(changed > 420);
  CHECK(changed < 530);
}

}  // namespace evenhand::competency
