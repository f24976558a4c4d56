// Variance components, the agreement they give and decision studies against tests/reference/expected.csv:
// lme4, expected mean squares and the figures of Brennan 2001 and Davies & Goldsmith 1972; each row names
// its source, and a failing check prints it.
#include <fstream>
#include <map>
#include <set>
#include <sstream>

#include <catch2/catch.hpp>

#include "agreement/components.hpp"
#include "agreement/decision_study.hpp"
#include "agreement/facet_components.hpp"
#include "agreement/icc_reml.hpp"
#include "scores/read_long.hpp"
#include "support/reference_rows.hpp"

using namespace evenhand;
using namespace evenhand::agreement;
using test::ExpectedRow;

namespace {

const FacetTable& facets_of(const std::string& dataset) {
  static std::map<std::string, FacetTable> read;
  const auto found = read.find(dataset);
  if (found != read.end()) return found->second;
  const std::string path = "tests/reference/data/" + dataset + ".csv";
  std::ifstream stream(path, std::ios::binary);
  std::stringstream bytes;
  bytes << stream.rdbuf();
  const auto reading = scores::read_long(bytes.str(), path);
  REQUIRE(reading);
  const auto& table = reading->table;
  std::vector<FacetScore> scores;
  for (std::size_t i = 0; i < table.size(); ++i) {
    if (table.category(i) == scores::nothing) continue;
    scores.push_back({table.scored_case(i), table.rater(i), table.item(i),
                      *scores::number_of(table.categories()[table.category(i)])});
  }
  auto facets =
      FacetTable::from_scores(scores, table.cases().size(), table.raters().size(), table.items().size());
  REQUIRE(facets);
  return read.emplace(dataset, *std::move(facets)).first->second;
}

std::string term_of(const ExpectedRow& row) { return row.statistic.substr(row.statistic.find('_') + 1); }

Value by_name(const std::array<Value, facet_terms.size()>& values, const std::string& name) {
  for (std::size_t t = 0; t < values.size(); ++t)
    if (name_of(facet_terms[t]) == name) return values[t];
  return Reason("no such term");
}

Value nested_by_name(const NestedFacetComponents& c, const std::string& name, bool mean_square) {
  if (name == "case") return mean_square ? c.ms_case : c.case_;
  if (name == "item") return mean_square ? c.ms_item : c.item;
  if (name == "rater:item") return mean_square ? c.ms_rater_in_item : c.rater_in_item;
  if (name == "case:item") return mean_square ? c.ms_case_item : c.case_item;
  if (name == "residual") return mean_square ? c.ms_residual : c.residual;
  return Reason("no such term");
}

Value component_of(const ExpectedRow& row) {
  const std::string design = row.argument("design"), term = term_of(row);
  const bool reml = row.argument("method") == "reml";
  if (design == "case*(rater:item)")
    return nested_by_name(nested_facet_components(facets_of(row.dataset)), term, false);
  if (design == "case*rater*item") {
    const FacetTable& table = facets_of(row.dataset);
    return by_name((reml ? facet_components_reml(table) : facet_components_anova(table)).variance, term);
  }
  const RatingTable table = test::ratings_for(row);
  if (design == "oneway") {
    if (reml) return term == "case" ? one_way_reml(table).case_ : one_way_reml(table).within;
    const auto squares = one_way(table.complete_cases());
    REQUIRE(squares);
    const OneWayComponents c = components_one_way(*squares);
    return term == "case" ? c.case_ : c.within;
  }
  const Components c = reml ? icc_reml(table).components : components_anova(two_way(table).value());
  return term == "case" ? c.case_ : term == "rater" ? c.rater : c.residual;
}

Value agreement_of(const ExpectedRow& row) {
  const RatingTable table = test::ratings_for(row);
  if (row.statistic == "icc_reml_oneway") return one_way_reml(table).icc;
  const std::string k = row.argument("k");
  const IccReml result = icc_reml(table, {.k = k.empty() ? 1.0 : std::stod(k)});
  return row.statistic == "icc_reml_agreement" ? result.agreement_mean.estimate
                                               : result.consistency_mean.estimate;
}

Value study_of(const ExpectedRow& row) {
  const std::string design = row.argument("design"), items = row.argument("n_item");
  StudyDesign wanted{
      .raters = std::stod(row.argument("n_rater")),
      .items = items.empty() ? 1.0 : std::stod(items),
      .negative = row.argument("negative") == "raw" ? NegativeVariance::raw : NegativeVariance::zero};
  const DecisionStudy study =
      design.empty() ? decision_study(components_anova(two_way(test::ratings_for(row)).value()), wanted)
      : design == "case*rater*item" ? decision_study(facet_components_anova(facets_of(row.dataset)), wanted)
                                    : decision_study(nested_facet_components(facets_of(row.dataset)), wanted);
  if (row.statistic == "dstudy_g") return study.g;
  if (row.statistic == "dstudy_phi") return study.phi;
  return row.statistic == "dstudy_var_relative" ? study.relative_error : study.absolute_error;
}

}  // namespace

TEST_CASE("variance components of every design and method give the reference values", "[reference]") {
  CHECK(test::check_rows({"varcomp_"}, component_of) == 139);
}

TEST_CASE("agreement from components gives the reference values", "[reference]") {
  CHECK(test::check_rows({"icc_reml_"}, agreement_of) == 35);
}

TEST_CASE("decision studies give the reference values", "[reference]") {
  CHECK(test::check_rows({"dstudy_"}, study_of) == 198);
}

TEST_CASE("mean squares of three facets give the reference values", "[reference]") {
  CHECK(test::check_rows({"ms_"}, [](const ExpectedRow& row) -> std::optional<Value> {
          const std::string design = row.argument("design");
          if (design.empty()) return std::nullopt;
          const FacetTable& table = facets_of(row.dataset);
          if (design == "case*rater*item")
            return by_name(facet_components_anova(table).mean_square, term_of(row));
          return nested_by_name(nested_facet_components(table), term_of(row), true);
        }) == 19);
}
