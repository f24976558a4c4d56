#include "agreement/agreement.hpp"

#include <catch2/catch.hpp>

#include "agreement/kappa.hpp"
#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

/// Raters a, b, ... and the key on five levels.
ScoreMatrix matrix(std::size_t items, std::size_t raters, std::size_t cases, bool with_key) {
  ScoreMatrix m;
  for (std::size_t r = 0; r < raters; ++r) m.raters.push_back(std::string(1, static_cast<char>('a' + r)));
  if (with_key) {
    m.raters.push_back("key");
    m.key = raters;
  }
  for (std::size_t c = 0; c < cases; ++c) m.cases.push_back(std::to_string(c));
  for (std::size_t i = 0; i < items; ++i) m.items.push_back(std::to_string(i + 1));
  m.categories = {"0", "1", "2", "3", "4"};
  m.resize_cells();
  return m;
}

void fill_random(ScoreMatrix& m, std::uint64_t seed) {
  base::Random random(seed);
  for (auto& cell : m.cells) cell.category = static_cast<std::int32_t>(random.index(5));
}

}  // namespace

TEST_CASE("the key is no rater: group statistics do not see it") {
  auto with = matrix(1, 3, 8, true);
  fill_random(with, 4);
  auto without = matrix(1, 3, 8, false);
  for (std::size_t r = 0; r < 3; ++r)
    for (std::size_t c = 0; c < 8; ++c) without.at(0, r, c) = with.at(0, r, c);
  const auto a = agreement::agreement(with), b = agreement::agreement(without);
  REQUIRE((a && b));
  CHECK(*a->measures[0].icc[1].icc.estimate == *b->measures[0].icc[1].icc.estimate);
  CHECK(a->input.raters == 3);
  CHECK(a->measures[0].pairs.size() == 6);
  CHECK(b->measures[0].pairs.size() == 3);
}

TEST_CASE("a score filled in by the skip rule counts in the total and not for its item") {
  auto m = matrix(2, 2, 4, true);
  fill_random(m, 9);
  m.at(1, 0, 2).filled = true;
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  REQUIRE(result->measures.size() == 3);
  CHECK(result->measures[1].used.cases == 3);
  CHECK(result->measures[2].total);
  CHECK(result->measures[2].used.cases == 4);
}

TEST_CASE("a total needs every item") {
  auto m = matrix(2, 2, 4, false);
  fill_random(m, 9);
  m.at(1, 0, 2).category = -1;
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  CHECK(result->measures[2].used.cases == 3);
  CHECK(result->input.missing == 1);
}

TEST_CASE("undefined is an answer in words", "[edge]") {
  auto m = matrix(1, 2, 5, false);
  for (auto& cell : m.cells) cell.category = 4;  // a ceiling: everybody gives 4
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  const Measure& one = result->measures[0];
  CHECK_FALSE(one.icc[1].icc.estimate.defined());
  CHECK_FALSE(one.icc[1].icc.estimate.why().empty());
  CHECK_FALSE(one.pairs[0].kappa.none.kappa.estimate.defined());
  CHECK_FALSE(one.pairs[0].kappa.none.kappa.estimate.why().empty());
  CHECK(*one.pairs[0].exact.estimate == 1.0);
}

TEST_CASE("one case, one rater, no score: each is answered", "[edge]") {
  for (const auto& [raters, cases] : {std::pair<std::size_t, std::size_t>{2, 1}, {1, 5}}) {
    auto m = matrix(1, raters, cases, false);
    fill_random(m, 1);
    const auto result = agreement::agreement(m);
    REQUIRE(result);
    CHECK_FALSE(result->measures[0].icc[0].icc.estimate.defined());
  }
  const auto empty = agreement::agreement(matrix(1, 2, 3, false));
  REQUIRE(empty);
  CHECK_FALSE(empty->measures[0].icc[0].icc.estimate.defined());
}

TEST_CASE("labels that are no numbers have ranks but no means") {
  auto m = matrix(1, 2, 6, false);
  m.categories = {"0", "1", "1+", "2", "3"};
  fill_random(m, 3);
  const auto result = agreement::agreement(m, {.level = Level::ordinal});
  REQUIRE(result);
  CHECK(result->measures[0].pairs[0].kappa.quadratic.kappa.estimate.defined());
  CHECK_FALSE(result->measures[0].icc[1].icc.estimate.defined());
  CHECK_FALSE(result->measures[0].pairs[0].limits_of_agreement.lower.estimate.defined());
}
