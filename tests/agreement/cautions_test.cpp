// Each sentence on both sides of its bound (reports/methods/coverage.md, "From where on a caution is due").
#include <algorithm>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/agreement.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

using LevelOf = std::function<std::size_t(std::size_t item, std::size_t rater, std::size_t case_)>;

struct Sizes {
  std::size_t raters = 3, cases = 20, items = 1;
  bool key = false;  ///< the last rater
};

ScoreMatrix matrix_of(const Sizes& sizes, const LevelOf& level) {
  ScoreMatrix m;
  for (std::size_t r = 0; r < sizes.raters; ++r) m.raters.push_back("r" + std::to_string(r));
  if (sizes.key) m.key = sizes.raters - 1;
  for (std::size_t c = 0; c < sizes.cases; ++c) m.cases.push_back("c" + std::to_string(c));
  m.items.clear();
  for (std::size_t i = 0; i < sizes.items; ++i) m.items.push_back(sizes.items == 1 ? "" : std::to_string(i));
  m.categories = {"0", "1", "2", "3", "4"};
  m.resize_cells();
  for (std::size_t i = 0; i < sizes.items; ++i)
    for (std::size_t r = 0; r < sizes.raters; ++r)
      for (std::size_t c = 0; c < sizes.cases; ++c)
        m.at(i, r, c).category = static_cast<std::int32_t>(level(i, r, c));
  return m;
}

AgreementResult result_of(const Sizes& sizes, const LevelOf& level, StatisticSet only = StatisticSet::all()) {
  const auto result = agreement::agreement(matrix_of(sizes, level), {.only = only, .resamples = 0});
  REQUIRE(result);
  return *result;
}

/// The first so many cases at the top, the others on the levels below, where raters differ now and then.
LevelOf at_top(std::size_t cases) {
  return [cases](std::size_t item, std::size_t rater, std::size_t c) -> std::size_t {
    return c < cases ? 4 : (c + (item > 0 ? c / 4 : 0) + (rater == 0 ? 1 : 0)) % 4;
  };
}

/// Cases on all levels in turn.
LevelOf flat() {
  return [](std::size_t, std::size_t rater, std::size_t c) {
    return (c + (rater == 0 && c % 3 == 0 ? 1 : 0)) % 5;
  };
}

bool says(const std::vector<std::string_view>& cautions, std::string_view words) {
  return std::any_of(cautions.begin(), cautions.end(),
                     [&](std::string_view c) { return c.find(words) != std::string_view::npos; });
}

std::vector<std::string_view> cautions_of(const Sizes& sizes, const LevelOf& level,
                                          StatisticSet only = StatisticSet::all()) {
  return result_of(sizes, level, only).measures.at(0).cautions;
}

}  // namespace

TEST_CASE("where limits are too narrow the measure says so, by the rules of the coverage study", "[edge]") {
  CHECK(says(cautions_of({.raters = 8, .cases = 60}, flat()), "Up to eight raters"));
  CHECK_FALSE(says(cautions_of({.raters = 9, .cases = 60}, flat()), "Up to eight raters"));
  CHECK(says(cautions_of({.raters = 9, .cases = 60}, flat()), "ICC(1,1) and ICC(1,k) are for cases"));
  CHECK_FALSE(says(cautions_of({}, flat(), {Statistic::icc_reml}), "ICC(1,1)"));
  CHECK(says(cautions_of({}, at_top(8)), "the limits of every ICC"));
  CHECK_FALSE(says(cautions_of({}, at_top(7)), "the limits of every ICC"));
  CHECK(says(cautions_of({}, at_top(7)), "SEM and MDC95"));
  CHECK(cautions_of({}, at_top(7), {Statistic::exact}).empty());
}

TEST_CASE("a total is cautioned against where three in ten stand at one end, an item where four do",
          "[edge]") {
  const auto measures = [](std::size_t at_the_top) {
    const auto result = result_of({.items = 2}, at_top(at_the_top));
    REQUIRE(result.measures.back().total);
    return result.measures;
  };
  CHECK(says(measures(6).back().cautions, "the limits of every ICC"));
  CHECK_FALSE(says(measures(6).front().cautions, "the limits of every ICC"));
  CHECK_FALSE(says(measures(5).back().cautions, "the limits of every ICC"));
  CHECK(says(measures(2).back().cautions, "SEM and MDC95"));
  CHECK_FALSE(says(measures(1).back().cautions, "SEM and MDC95"));
}

TEST_CASE("coefficients of several raters are cautioned against by cases and by what stands at one end",
          "[edge]") {
  CHECK(says(cautions_of({.cases = 19}, flat()), "Fewer than 20 cases"));
  CHECK_FALSE(says(cautions_of({.cases = 20}, flat()), "Fewer than 20 cases"));
  // 31 of 39, 32 of 39, 32 of 40 cases.
  CHECK_FALSE(says(cautions_of({.cases = 39}, at_top(31)), "four scores in five at one end"));
  CHECK(says(cautions_of({.cases = 39}, at_top(32)), "four scores in five at one end"));
  CHECK_FALSE(says(cautions_of({.cases = 40}, at_top(32)), "four scores in five at one end"));
  CHECK(says(cautions_of({.raters = 2, .cases = 79}, flat()), "Two raters and fewer than 80 cases"));
  CHECK_FALSE(says(cautions_of({.raters = 2, .cases = 80}, flat()), "Two raters and fewer than 80 cases"));
  CHECK_FALSE(says(cautions_of({.raters = 3, .cases = 79}, flat()), "Two raters and fewer than 80 cases"));
  CHECK(says(cautions_of({.cases = 39}, at_top(24)), "the limits of alpha are too narrow"));
  CHECK_FALSE(says(cautions_of({.cases = 39}, at_top(23)), "the limits of alpha are too narrow"));
  CHECK_FALSE(says(cautions_of({.cases = 40}, at_top(24)), "the limits of alpha are too narrow"));
  CHECK(says(cautions_of({.cases = 100}, at_top(80)), "alpha by the interval metric"));
  CHECK_FALSE(says(cautions_of({.cases = 100}, at_top(79)), "alpha by the interval metric"));
}

TEST_CASE("an item's kappa against the key is cautioned against by cases and by what stands at one end",
          "[edge]") {
  const auto said = [](std::size_t cases, const LevelOf& level, StatisticSet only = StatisticSet::all()) {
    return says(cautions_of({.cases = cases, .key = true}, level, only), "an item's kappa against the key");
  };
  CHECK(said(9, flat()));
  CHECK_FALSE(said(10, flat()));
  // The spread is that of the raters: 24 of 39 cases, 32 of 40.
  CHECK(said(39, at_top(24)));
  CHECK_FALSE(said(39, at_top(23)));
  CHECK_FALSE(said(40, at_top(31)));
  CHECK(said(40, at_top(32)));
  CHECK_FALSE(said(9, flat(), {Statistic::kappa}));
  CHECK_FALSE(says(cautions_of({.cases = 9}, flat()), "an item's kappa against the key"));
}

TEST_CASE("a pair is cautioned against by how many cases lie away from the level given most", "[edge]") {
  const auto away = [](std::size_t cases, StatisticSet only = StatisticSet::all()) {
    return cautions_of({.cases = 200}, at_top(200 - cases), only);
  };
  const std::string_view bias = "a pair's bias, AC1", kappa = "a pair's kappa",
                         quadratic = "quadratic kappa and AC2";
  CHECK(says(away(7), bias));
  CHECK_FALSE(says(away(8), bias));
  CHECK(says(away(15), kappa));
  CHECK_FALSE(says(away(16), kappa));
  CHECK(says(away(39), quadratic));
  CHECK_FALSE(says(away(40), quadratic));
  CHECK_FALSE(says(away(7, {Statistic::kappa}), bias));
  CHECK_FALSE(says(away(7, {Statistic::bias}), kappa));
  CHECK(says(away(7, {Statistic::bias}), bias));
  CHECK(says(away(7, {Statistic::gwet}), quadratic));
}

TEST_CASE("the pair that shares fewest cases decides, whatever the others share", "[edge]") {
  // Every third case lies away from level 4; the first two raters share 20 cases only.
  ScoreMatrix m =
      matrix_of({.raters = 4, .cases = 60}, [](std::size_t, std::size_t rater, std::size_t c) -> std::size_t {
        return c % 3 != 0 ? 4 : (c + rater) % 4;
      });
  const auto kappa_is_doubted = [&] {
    const auto result = agreement::agreement(m, {.only = {Statistic::kappa}, .resamples = 0});
    REQUIRE(result);
    return says(result->measures.at(0).cautions, "a pair's kappa");
  };
  CHECK_FALSE(kappa_is_doubted());
  for (std::size_t c = 20; c < 60; ++c) m.at(0, c % 2, c).category = -1;
  CHECK(kappa_is_doubted());
}

TEST_CASE("the ends of a scale spoil concordance and limits of agreement, however many cases", "[edge]") {
  const std::string_view words = "a pair's concordance, and those of its limits of agreement";
  CHECK(says(cautions_of({.cases = 200}, at_top(80)), words));
  CHECK_FALSE(says(cautions_of({.cases = 200}, at_top(79)), words));
  CHECK_FALSE(says(cautions_of({.cases = 200}, at_top(80), {Statistic::kappa}), words));
}

TEST_CASE("few cases make the limits over all items too narrow, and it is said", "[edge]") {
  const auto across = [](std::size_t cases, const LevelOf& level) {
    return result_of({.raters = 3, .cases = cases, .items = 2, .key = true}, level).across_items.cautions;
  };
  CHECK(says(across(9, flat()), "Fewer than ten cases: the limits of shares over all items are too narrow."));
  CHECK_FALSE(says(across(10, flat()), "Fewer than ten cases"));
  CHECK(says(across(39, flat()), "Fewer than 40 cases: the limits of the mean item kappa are too narrow."));
  CHECK_FALSE(says(across(40, flat()), "Fewer than 40 cases"));
  CHECK(says(across(40, at_top(24)), "linear and the quadratic mean item kappa"));
  CHECK_FALSE(says(across(40, at_top(23)), "linear and the quadratic mean item kappa"));
  CHECK(says(across(40, at_top(24)),
             "A share near 1 of a single rater: its limits lean the wrong way and are too narrow."));
  CHECK_FALSE(says(across(40,
                          [](std::size_t, std::size_t rater, std::size_t c) -> std::size_t {
                            return (c % 5 + (rater < 2 && c % 5 < 2 ? 2 : 0)) % 5;
                          }),
                   "A share near 1 of a single rater"));
}
