// Published figures and values recomputed with general-purpose libraries, for the coefficients
// beside kappa and the ICC; each row of tests/reference/expected.csv names its source.
#include <algorithm>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/alpha.hpp"
#include "agreement/brennan_prediger.hpp"
#include "agreement/concordance.hpp"
#include "agreement/conger.hpp"
#include "agreement/fleiss.hpp"
#include "agreement/gwet.hpp"
#include "agreement/kendall_w.hpp"
#include "agreement/light.hpp"
#include "agreement/marginal_homogeneity.hpp"
#include "stats/correlation.hpp"
#include "support/reference_rows.hpp"

using namespace evenhand;
using namespace evenhand::agreement;
using test::check_rows;
using test::ends;
using test::ExpectedRow;

namespace {

/// A row's ratings as places in its category list.
struct Placed {
  std::vector<std::string> categories;
  std::vector<std::int32_t> places;
  std::size_t raters, cases;

  explicit Placed(const ExpectedRow& row) : categories(test::parts_of(row.argument("categories"))) {
    const RatingTable table = test::ratings_for(row);
    const auto values = test::category_values(categories);
    raters = table.raters();
    cases = table.cases();
    places.assign(raters * cases, -1);
    for (std::size_t r = 0; r < raters; ++r)
      for (std::size_t c = 0; c < cases; ++c)
        if (const auto score = table.at(c, r))
          places[r * cases + c] = static_cast<std::int32_t>(test::place_of(values, *score));
  }
  Placings view() const { return {places, raters, cases, categories.size()}; }
};

Value part_of(const ExpectedRow& row, const ChanceCorrected& result) {
  if (ends(row, "_lower")) return result.coefficient.lower;
  if (ends(row, "_upper")) return result.coefficient.upper;
  if (ends(row, "_se")) return result.se;
  return result.coefficient.estimate;
}

/// Cases that one of two raters scored and the other did not, by category.
std::vector<std::size_t> alone_in(const Placings& placings) {
  std::vector<std::size_t> alone(placings.categories);
  for (std::size_t c = 0; c < placings.cases; ++c)
    if ((placings.at(0, c) < 0) != (placings.at(1, c) < 0))
      ++alone[static_cast<std::size_t>(std::max(placings.at(0, c), placings.at(1, c)))];
  return alone;
}

/// By the counts of each case and, for two raters, by their cross table as well.
template <class ByCounts, class ByTable>
Value both_ways(const ExpectedRow& row, ByCounts by_counts, ByTable by_table) {
  const Placed placed(row);
  const AgreementWeights weights = test::weights_of(row, placed.categories);
  if (placed.raters == 2) {
    const CrossTable table = test::cross_table(row, placed.categories);
    const Value pair = part_of(row, by_table(table, weights, alone_in(placed.view())));
    INFO(test::describe(row, pair));
    CHECK(test::matches(row, pair));
  }
  return part_of(row, by_counts(CategoryCounts::of(placed.view()), weights));
}

Value gwet_of(const ExpectedRow& row) {
  return both_ways(
      row, [](const auto& counts, const auto& weights) { return gwet(counts, weights); },
      [](const auto& table, const auto& weights, const auto& alone) {
        return gwet(table, weights, 0.95, alone);
      });
}

Value brennan_prediger_of(const ExpectedRow& row) {
  return both_ways(
      row, [](const auto& counts, const auto& weights) { return brennan_prediger(counts, weights); },
      [](const auto& table, const auto& weights, const auto& alone) {
        return brennan_prediger(table, weights, 0.95, alone);
      });
}

Value fleiss_of(const ExpectedRow& row) {
  const Placed placed(row);
  const CategoryCounts counts = CategoryCounts::of(placed.view());
  if (row.statistic.starts_with("fleiss_gwet"))
    return part_of(row, fleiss_all_scores(counts, test::weights_of(row, placed.categories)));
  const FleissKappas result = fleiss_kappa(counts, placed.raters);
  if (row.statistic == "fleiss_kappa_se0") return result.se0;
  if (row.statistic == "fleiss_kappa_z") return result.z;
  if (row.statistic == "fleiss_kappa_category_se0") return result.categories[0].se0;
  if (row.statistic != "fleiss_kappa_category") return result.kappa;
  const std::string category = row.argument("category");
  const auto place = std::find(placed.categories.begin(), placed.categories.end(), category);
  REQUIRE(place != placed.categories.end());
  return result.categories[static_cast<std::size_t>(place - placed.categories.begin())].kappa;
}

Value alpha_of(const ExpectedRow& row) {
  const std::string name = row.argument("metric");
  const AlphaMetric metric = name == "nominal"    ? AlphaMetric::nominal
                             : name == "ordinal"  ? AlphaMetric::ordinal
                             : name == "interval" ? AlphaMetric::interval
                                                  : AlphaMetric::ratio;
  return alpha(AlphaUnits::of(test::ratings_for(row)), metric);
}

Value kendall_w_of(const ExpectedRow& row) {
  const RankConcordance result = kendall_w(test::ratings_for(row));
  if (row.statistic == "kendall_w") return result.w;
  if (ends(row, "_uncorrected")) return result.uncorrected;
  if (ends(row, "_chi2")) return result.chi2;
  if (ends(row, "_f_df1")) return result.f_df1;
  if (ends(row, "_f_df2")) return result.f_df2;
  if (ends(row, "_f_p")) return result.f_p;
  if (ends(row, "_df")) return result.df;
  if (ends(row, "_p")) return result.p;
  REQUIRE(ends(row, "_f"));
  return result.f;
}

Value symmetry_of(const ExpectedRow& row) {
  const CrossTable table = test::cross_table(row, test::parts_of(row.argument("categories")));
  if (row.statistic.starts_with("stuart")) {
    const HomogeneityTest result = stuart_maxwell(table);
    return ends(row, "_chi2") ? result.chi2 : ends(row, "_df") ? result.df : result.p;
  }
  if (row.statistic.starts_with("bowker")) {
    const SymmetryTest result = bowker(table);
    if (ends(row, "_df_all")) return result.df_all;
    if (ends(row, "_p_all")) return result.p_all;
    return ends(row, "_chi2") ? result.chi2 : ends(row, "_df") ? result.df : result.p;
  }
  const McNemar result = mcnemar(table);
  if (ends(row, "_exact_p")) return result.exact_p;
  if (ends(row, "_chi2_corrected")) return result.chi2_corrected;
  if (ends(row, "_p_corrected")) return result.p_corrected;
  return ends(row, "_chi2") ? result.chi2 : result.p;
}

Value concordance_of(const ExpectedRow& row) {
  const test::TwoRaters pair = test::pair_of(row);
  const Estimate result = concordance(pair.first, pair.second);
  return ends(row, "_lower") ? result.lower : ends(row, "_upper") ? result.upper : result.estimate;
}

Value correlation_of(const ExpectedRow& row) {
  const test::TwoRaters pair = test::pair_of(row);
  const auto value = row.statistic == "pearson_r"      ? stats::pearson(pair.first, pair.second)
                     : row.statistic == "spearman_rho" ? stats::spearman(pair.first, pair.second)
                                                       : stats::kendall_tau_b(pair.first, pair.second);
  return value ? Value(*value) : Value("no correlation");
}

}  // namespace

TEST_CASE("Gwet's coefficients give the reference values", "[reference]") {
  CHECK(check_rows({"gwet_ac"}, gwet_of) == 186);
}

TEST_CASE("Brennan and Prediger's coefficient gives the reference values", "[reference]") {
  CHECK(check_rows({"brennan_prediger"}, brennan_prediger_of) == 46);
}

TEST_CASE("Fleiss' kappas give the reference values", "[reference]") {
  CHECK(check_rows({"fleiss_"}, fleiss_of) == 82);
}

TEST_CASE("pairwise agreement gives the reference values", "[reference]") {
  CHECK(check_rows({"pairwise_agreement"}, [](const ExpectedRow& row) {
          const Placed placed(row);
          return pairwise_agreement(CategoryCounts::of(placed.view()),
                                    test::weights_of(row, placed.categories));
        }) == 10);
}

TEST_CASE("Conger's and Light's kappa give the reference values", "[reference]") {
  CHECK(check_rows({"conger_kappa", "light_kappa"}, [](const ExpectedRow& row) {
          const Placed placed(row);
          const AgreementWeights weights = test::weights_of(row, placed.categories);
          return row.statistic == "conger_kappa" ? conger_kappa(placed.view(), weights)
                                                 : light_kappa(placed.view(), weights);
        }) == 15);
}

TEST_CASE("alpha gives the reference values", "[reference]") {
  CHECK(check_rows({"krippendorff_alpha"}, alpha_of) == 37);
}

TEST_CASE("Kendall's W gives the reference values", "[reference]") {
  CHECK(check_rows({"kendall_w"}, kendall_w_of) == 73);
}

TEST_CASE("tests of marginal homogeneity give the reference values", "[reference]") {
  CHECK(check_rows({"bowker_", "stuart_maxwell_", "mcnemar_"}, symmetry_of) == 155);
}

TEST_CASE("concordance gives the reference values", "[reference]") {
  CHECK(check_rows({"lin_ccc"}, concordance_of) == 27);
}

TEST_CASE("correlations give the reference values", "[reference]") {
  CHECK(check_rows({"pearson_r", "spearman_rho", "kendall_tau_b"}, correlation_of) == 28);
}
