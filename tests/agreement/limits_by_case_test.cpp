#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/agreement.hpp"
#include "agreement/concordance.hpp"
#include "agreement/limits_by_case.hpp"
#include "base/random.hpp"
#include "stats/distributions.hpp"
#include "stats/satterthwaite.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

RatingTable table_of(std::size_t raters, const std::vector<double>& values) {
  RatingTable table(values.size() / raters, raters);
  for (std::size_t i = 0; i < values.size(); ++i) REQUIRE(table.set(i / raters, i % raters, values[i]));
  return table;
}

// Shrout PE, Fleiss JL (1979). Psychological Bulletin 86:420-428, table 2.
const std::vector<double> published{9, 2, 5, 8, 6, 1, 3, 2, 8, 4, 6, 8, 7, 1, 2, 6, 10, 5, 6, 9, 6, 2, 4, 7};
const std::vector<double> crowded{4, 4, 4, 4, 4, 3, 4, 4, 4, 3, 4, 2, 4, 4, 4,
                                  1, 2, 1, 4, 3, 4, 4, 4, 4, 0, 2, 1, 4, 4, 4};

void check(const Estimate& one, double estimate, double lower, double upper) {
  REQUIRE(one.estimate);
  REQUIRE(one.lower);
  REQUIRE(one.upper);
  CHECK(*one.estimate == Approx(estimate).epsilon(1e-9));
  CHECK(*one.lower == Approx(lower).epsilon(1e-8));
  CHECK(*one.upper == Approx(upper).epsilon(1e-8));
}

std::vector<double> column(const std::vector<double>& values, std::size_t raters, std::size_t rater) {
  std::vector<double> one;
  for (std::size_t i = rater; i < values.size(); i += raters) one.push_back(values[i]);
  return one;
}

bool says(const Value& value, std::string_view words) {
  return !value && value.why().find(words) != std::string_view::npos;
}

}  // namespace

TEST_CASE("limits by degrees of freedom told from the cases are those of a slow computation", "[reference]") {
  // numpy 1.24.2 and SciPy 1.10.1: the analysis of variance once more without each case, chi-square and F
  // quantiles, the limits of Ting et al. 1990 written out, brentq for the share.
  const auto sf = variance_limits_by_case(table_of(4, published));
  check(sf.icc_consistency, 0.7148407148407149, 0.23310170386115503, 0.9486441287543359);
  check(sf.icc_agreement, 0.2897637795275591, 0.027646088098774314, 0.7545350895581281);
  check(sf.sem_agreement, 2.502776236280201, 1.5991891736361317, 8.727061355578495);
  check(sf.sem_consistency, 1.0096754153907306, 0.6767249616796905, 1.9762678832406506);
  CHECK(sf.icc_agreement.method == "degrees of freedom told from the cases");
  const auto ceiling = variance_limits_by_case(table_of(3, crowded));
  check(ceiling.icc_consistency, 0.8121951219512197, 0.49819307195309825, 0.9533137161716783);
  check(ceiling.icc_agreement, 0.8043478260869567, 0.3569828222604176, 0.9490578075485653);
  check(ceiling.sem_agreement, 0.5477225575051661, 0.41547337862018796, 1.4220375654485766);
  check(ceiling.sem_consistency, 0.5340273262532406, 0.38479876000339763, 0.8720007033728961);
}

TEST_CASE("limits of a pair by leaving out each case are those of a slow computation", "[reference]") {
  // numpy 1.24.2 and SciPy 1.10.1: each statistic once more without each case, t quantiles.
  const auto sf = pair_limits_by_case(column(published, 4, 0), column(published, 4, 3));
  check(sf.concordance, 0.6052631578947368, -0.06527593639435189, 0.8992321025177988);
  check(sf.lower, -2.2797073040135762, -5.40688561780061, 0.8474710097734568);
  check(sf.upper, 4.279707304013576, -1.0349557480064426, 9.594370356033595);
  const auto ceiling = pair_limits_by_case(column(crowded, 3, 0), column(crowded, 3, 2));
  check(ceiling.concordance, 0.9132947976878613, 0.6583384209566382, 0.980260962336026);
  check(ceiling.lower, -1.0125865759071915, -1.8699201542768895, -0.15525299753749344);
  check(ceiling.upper, 1.2125865759071917, 0.3420134607887009, 2.083159691025682);
  CHECK_FALSE(ceiling.upper.outside_range);
}

TEST_CASE("limits by case know neither order nor origin of the scores", "[property]") {
  base::Random random(7);
  std::vector<double> values;
  for (int i = 0; i < 60; ++i) values.push_back(std::floor(10.0 * random.uniform()));
  const auto before = variance_limits_by_case(table_of(4, values));
  std::vector<double> turned, moved;
  for (std::size_t i = 15; i-- > 0;)
    for (std::size_t j : {2U, 0U, 3U, 1U}) turned.push_back(values[i * 4 + j]);
  for (const double value : values) moved.push_back(value + 1e9);
  for (const auto& other :
       {variance_limits_by_case(table_of(4, turned)), variance_limits_by_case(table_of(4, moved))}) {
    check(other.icc_agreement, *before.icc_agreement.estimate, *before.icc_agreement.lower,
          *before.icc_agreement.upper);
    check(other.sem_consistency, *before.sem_consistency.estimate, *before.sem_consistency.lower,
          *before.sem_consistency.upper);
  }
}

TEST_CASE("limits by case are undefined where leaving out tells nothing", "[edge]") {
  const auto two = variance_limits_by_case(table_of(2, {1, 2, 3, 5}));
  CHECK(two.sem_consistency.estimate);
  CHECK(says(two.sem_consistency.lower, "fewer than three cases"));
  CHECK(says(two.icc_agreement.upper, "fewer than three cases"));
  const auto alike = variance_limits_by_case(table_of(2, {1, 1, 2, 2, 3, 3}));
  CHECK(says(alike.sem_agreement.lower, "no variance between cases, or none within them"));
  const auto even = variance_limits_by_case(table_of(2, {1, 2, 4, 3, 1, 2, 4, 3}));  // every rest is the same
  CHECK(says(even.icc_consistency.lower, "every case shows the same error"));
  const auto none = variance_limits_by_case(RatingTable(0, 2));
  CHECK(says(none.icc_agreement.estimate, "fewer than two"));
  CHECK(says(none.sem_agreement.estimate, "fewer than two cases were scored by every rater"));

  const std::vector<double> x{1, 2, 4}, y{1, 2, 3};
  CHECK(says(pair_limits_by_case(x, x).concordance.lower, "agreement is perfect"));
  CHECK(says(pair_limits_by_case(x, y).concordance.lower, "without one of the cases there is no value"));
  CHECK(says(pair_limits_by_case(std::vector{1.0, 2.0}, std::vector{1.0, 3.0}).lower.lower,
             "fewer than three cases"));
  CHECK(says(pair_limits_by_case(std::vector{1.0}, std::vector{1.0}).upper.estimate,
             "fewer than two cases were scored by both"));
  const std::vector<double> flat{2, 2, 2, 4}, same{2, 2, 2, 3};
  CHECK(
      says(pair_limits_by_case(flat, same).concordance.lower, "without one of the cases there is no value"));
}

TEST_CASE("limits by case are offered where scores crowd at one end, and only there", "[edge]") {
  ScoreMatrix m;
  m.raters = {"a", "b", "c"};
  for (int c = 0; c < 10; ++c) m.cases.push_back(std::to_string(c));
  m.items = {""};
  m.categories = {"0", "1", "2", "3", "4"};
  m.resize_cells();
  for (std::size_t c = 0; c < 10; ++c)
    for (std::size_t r = 0; r < 3; ++r)
      m.at(0, r, c).category = static_cast<std::int32_t>(crowded[c * 3 + r]);
  const auto result = agreement::agreement(m, {.resamples = 0});
  REQUIRE(result);
  const OfferedLimits& offered = result->measures.front().offered;
  check(offered.group.icc_agreement, 0.8043478260869567, 0.3569828222604176, 0.9490578075485653);
  REQUIRE(offered.pairs.size() == 3);
  check(offered.pairs[1].concordance, 0.9132947976878613, 0.6583384209566382, 0.980260962336026);

  const auto only = agreement::agreement(m, {.only = {Statistic::exact, Statistic::sem}, .resamples = 0});
  REQUIRE(only);
  CHECK(only->measures.front().offered.pairs.empty());
  CHECK(says(only->measures.front().offered.group.icc_agreement.lower, "not asked for"));
  CHECK(only->measures.front().offered.group.sem_agreement.lower);

  for (std::size_t c = 0; c < 10; ++c)
    for (std::size_t r = 0; r < 3; ++r) m.at(0, r, c).category = static_cast<std::int32_t>((c + r / 2) % 5);
  const auto flat = agreement::agreement(m, {.resamples = 0});
  REQUIRE(flat);
  CHECK(says(flat->measures.front().offered.group.icc_agreement.lower, "not asked for"));
  CHECK(flat->measures.front().offered.pairs.empty());
}
