// What the group of raters gets is what the functions below give; here the choice is tested: which scores,
// which scale, which reason.
#include <catch2/catch.hpp>

#include "agreement/agreement.hpp"
#include "agreement/category_counts.hpp"
#include "agreement/conger.hpp"
#include "agreement/gwet.hpp"
#include "agreement/light.hpp"
#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

bool says(const Value& value, std::string_view words) {
  return !value.defined() && value.why().find(words) != std::string_view::npos;
}

/// Raters r0, r1 ... and perhaps a key, on a scale of five, every score missing with probability `gaps`.
ScoreMatrix random_matrix(std::size_t raters, std::size_t cases, double gaps, bool key, std::uint64_t seed,
                          double severity = 0.0) {
  base::Random random(seed);
  ScoreMatrix m;
  for (std::size_t r = 0; r < raters; ++r) m.raters.push_back("r" + std::to_string(r));
  if (key) m.raters.push_back("key");
  for (std::size_t c = 0; c < cases; ++c) m.cases.push_back("c" + std::to_string(c));
  m.items = {""};
  m.categories = {"0", "1", "2", "3", "4"};
  if (key) m.key = raters;
  m.resize_cells();
  std::vector<double> shift;
  for (std::size_t r = 0; r < m.raters.size(); ++r) shift.push_back(random.normal(0.0, severity));
  for (std::size_t c = 0; c < cases; ++c) {
    const double truth = random.normal(2.0, 1.5);
    for (std::size_t r = 0; r < m.raters.size(); ++r) {
      const double score = std::clamp(std::round(truth + shift[r] + random.normal(0.0, 0.6)), 0.0, 4.0);
      if (!random.chance(gaps)) m.at(0, r, c).category = static_cast<std::int32_t>(score);
    }
  }
  return m;
}

Measure measure_of(const ScoreMatrix& m, AgreementOptions options = {}) {
  options.resamples = options.resamples == 2000 ? 200 : options.resamples;
  const auto result = agreement::agreement(m, options);
  REQUIRE(result);
  return result->measures.at(0);
}

}  // namespace

TEST_CASE("the key is in no group statistic") {
  const auto with = random_matrix(4, 12, 0.1, true, 3);
  ScoreMatrix without = with;
  without.raters.pop_back();
  without.key.reset();
  without.resize_cells();
  for (std::size_t r = 0; r < 4; ++r)
    for (std::size_t c = 0; c < 12; ++c) without.at(0, r, c) = with.at(0, r, c);
  const Measure a = measure_of(with), b = measure_of(without);
  CHECK(a.icc_reml.agreement == b.icc_reml.agreement);
  CHECK(a.krippendorff_alpha.ordinal == b.krippendorff_alpha.ordinal);
  CHECK(a.fleiss_kappa.all_scores.estimate == b.fleiss_kappa.all_scores.estimate);
  CHECK(a.conger_kappa.estimate == b.conger_kappa.estimate);
  CHECK(a.light_kappa.estimate == b.light_kappa.estimate);
  CHECK(a.gwet.quadratic.estimate == b.gwet.quadratic.estimate);
  CHECK(a.kendall_w.w == b.kendall_w.w);
}

TEST_CASE("group coefficients use the scores that their formulas allow") {
  const auto m = random_matrix(4, 15, 0.15, false, 5);
  const Measure result = measure_of(m);
  const auto columns = item_columns(m, result.scale, 0);
  const auto placed = placings(columns);
  const auto none = AgreementWeights::by_index(5, Weights::none);
  const auto quadratic = AgreementWeights::by_index(5, Weights::quadratic);
  CHECK(result.used.left_out > 0);
  CHECK(*result.conger_kappa.estimate.estimate == *conger_kappa(placed, none));
  CHECK(*result.light_kappa.estimate.estimate == *light_kappa(placed, none));
  CHECK(*result.gwet.quadratic.estimate.estimate ==
        *gwet(CategoryCounts::of(placed), quadratic).coefficient.estimate);
  CHECK(*result.krippendorff_alpha.interval.estimate ==
        *alpha(AlphaUnits(CategoryCounts::of(placed), {0, 1, 2, 3, 4}), AlphaMetric::interval));
  CHECK(result.icc_reml.ratings > result.used.scores);
}

TEST_CASE("a jackknife over Conger's kappa leaves out one complete case at a time", "[reference]") {
  const auto m = random_matrix(3, 9, 0.1, false, 6);
  const Measure result = measure_of(m);
  const auto columns = item_columns(m, result.scale, 0);
  const auto none = AgreementWeights::by_index(5, Weights::none);
  std::vector<double> without;
  for (std::size_t c = 0; c < 9; ++c) {
    bool complete = true;
    for (std::size_t r = 0; r < 3; ++r) complete = complete && m.at(0, r, c).category >= 0;
    if (!complete) continue;
    ScoreMatrix fewer = m;
    for (std::size_t r = 0; r < 3; ++r) fewer.at(0, r, c).category = -1;
    const auto left = item_columns(fewer, result.scale, 0);
    without.push_back(*conger_kappa(placings(left), none));
  }
  const double n = static_cast<double>(without.size());
  double mean = 0.0, squares = 0.0;
  for (const double v : without) mean += v / n;
  for (const double v : without) squares += (v - mean) * (v - mean);
  CHECK(*result.conger_kappa.se == Approx(std::sqrt((n - 1) / n * squares)).epsilon(1e-10));
}

TEST_CASE("Light's kappa stops at thirty raters, and says so", "[edge]") {
  const Measure result = measure_of(random_matrix(31, 6, 0.0, false, 8), {.resamples = 0});
  CHECK(says(result.light_kappa.estimate.estimate, "above 30 raters"));
  CHECK(result.conger_kappa.estimate.estimate.defined());
  CHECK(says(result.krippendorff_alpha.nominal.lower, "no resamples"));
  CHECK(result.krippendorff_alpha.nominal.estimate.defined());
}

TEST_CASE("what was not asked for is not computed") {
  const Measure result = measure_of(random_matrix(3, 8, 0.0, true, 10), {.only = {Statistic::kendall_w}});
  CHECK(result.kendall_w.w.defined());
  CHECK(says(result.krippendorff_alpha.nominal.estimate, "not asked for"));
  CHECK(says(result.icc_reml.agreement.estimate, "not asked for"));
  CHECK(result.pairs.empty());
}

TEST_CASE("where every item hangs on one case the mean item kappa has no limits", "[edge]") {
  ScoreMatrix m = random_matrix(2, 4, 0.0, true, 13);
  for (auto& cell : m.cells) cell.category = 2;
  m.at(0, 0, 0).category = 1;  // without case c0 everything is one and the same score
  m.at(0, 2, 0).category = 1;
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  const Estimate& mean = result->across_items.mean_item_kappa_limits.none;
  CHECK(mean.estimate.defined());
  CHECK(says(mean.lower, "without one of the cases there is no value"));
}

TEST_CASE("too many cases to leave out one after the other leave an estimate without limits", "[edge]") {
  const Measure result = measure_of(random_matrix(2, 30'000, 0.0, false, 14),
                                    {.only = {Statistic::conger_kappa, Statistic::light_kappa}});
  CHECK(result.conger_kappa.estimate.estimate.defined());
  CHECK(says(result.conger_kappa.se, "too many cases to leave out one after the other"));
  CHECK(says(result.light_kappa.estimate.lower, "too many cases to leave out one after the other"));
}

TEST_CASE("groups of raters who share no case are told apart", "[edge]") {
  ScoreMatrix m = random_matrix(4, 20, 0.0, false, 15);
  for (std::size_t c = 0; c < 20; ++c)
    for (std::size_t r = 0; r < 4; ++r)
      if ((r < 2) != (c < 10)) m.at(0, r, c).category = -1;
  const Measure result = measure_of(m, {.resamples = 0});
  CHECK(std::any_of(result.cautions.begin(), result.cautions.end(), [](std::string_view c) {
    return c.find("fall into groups that share nothing") != std::string_view::npos;
  }));
}
