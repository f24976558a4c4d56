#include "competency/chance.hpp"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

namespace evenhand::competency {
namespace {

/// n half cases; in every `each`-th case `missed` items are missed, moving through the items.
std::vector<ScoredCase> cases_with(std::size_t n, std::size_t each, std::size_t missed) {
  std::vector<ScoredCase> out;
  for (std::size_t c = 0; c < n; ++c) {
    ScoredCase one{.id = CaseId(std::to_string(c)), .items = {}};
    for (std::size_t i = 0; i < 7; ++i)
      one.items.push_back({.item = ItemId(std::to_string(2 * i + c % 2)),
                           .agrees = c % each != 0 || (i + c / 2) % 7 >= missed});
    out.push_back(one);
  }
  return out;
}

}  // namespace

TEST_CASE("the better the scores so far, the likelier is ready at the next look") {
  const auto chance = [](std::size_t missed) {
    return chance_of_ready(cases_with(12, 1, missed), Standard{}, {}, {.draws = 300}).value().chance;
  };
  CHECK(chance(0) > 0.95);
  CHECK(chance(1) < chance(0));
  CHECK(chance(3) < 0.05);
}

TEST_CASE("the chance names its look and its error, and repeats by seed") {
  const auto cases = cases_with(16, 1, 1);
  const auto once = chance_of_ready(cases, Standard{}, {}, {.draws = 200, .seed = 3}).value();
  CHECK(once.next_look == 24);
  CHECK(once.error > 0.0);
  CHECK(once.error < 0.04);
  CHECK(chance_of_ready(cases, Standard{}, {}, {.draws = 200, .seed = 3}).value().chance == once.chance);
}

TEST_CASE("an item that was often missed goes on being missed") {
  auto cases = cases_with(16, 100, 0);
  for (std::size_t c = 0; c < 10; c += 2) cases[c].items[3].agrees = false;  // 5 of 8
  // Ready at 24 cases if none of its four further showings is missed, or 5 of 12 would become half.
  const double chance = chance_of_ready(cases, Standard{}, {}, {.draws = 400}).value().chance;
  CHECK(chance > 0.2);
  CHECK(chance < 0.7);
}

TEST_CASE("without a look to come, or with one case, there is no chance to give", "[edge]") {
  CHECK_FALSE(chance_of_ready(cases_with(16, 100, 0), Standard{}, {}));  // ready already
  CHECK_FALSE(chance_of_ready(cases_with(1, 1, 1), Standard{}, {}));
  CHECK_FALSE(chance_of_ready({}, Standard{}, {}));
}

}  // namespace evenhand::competency
