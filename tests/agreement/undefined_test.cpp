// The words of every reason that no other test reads: reports/methods/undefined.md says which test reads
// which.
#include <string>
#include <string_view>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/agreement.hpp"
#include "agreement/by_case.hpp"
#include "agreement/concordance.hpp"
#include "agreement/decision_study.hpp"
#include "agreement/disagreement.hpp"
#include "agreement/facet_components.hpp"
#include "agreement/funnel.hpp"
#include "agreement/icc_reml.hpp"
#include "agreement/intra_rater.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

using Rows = std::vector<std::vector<RatingTable::Cell>>;

RatingTable table_of(const Rows& rows) { return RatingTable::from_rows(rows).value(); }

/// Raters by cases, every item scored as the function says.
template <class F>
ScoreMatrix matrix(std::size_t raters, std::size_t cases, std::size_t items,
                   std::vector<std::string> categories, F place) {
  ScoreMatrix m;
  for (std::size_t r = 0; r < raters; ++r) m.raters.push_back("r" + std::to_string(r));
  for (std::size_t c = 0; c < cases; ++c) m.cases.push_back("c" + std::to_string(c));
  for (std::size_t i = 0; i < items; ++i) m.items.push_back("i" + std::to_string(i));
  m.categories = std::move(categories);
  m.resize_cells();
  for (std::size_t i = 0; i < items; ++i)
    for (std::size_t r = 0; r < raters; ++r)
      for (std::size_t c = 0; c < cases; ++c)
        m.at(i, r, c).category = static_cast<std::int32_t>(place(r, c, i));
  return m;
}

const std::vector<std::string> zero_to_four{"0", "1", "2", "3", "4"};

}  // namespace

TEST_CASE("limits at a confidence of 1 say that they could not be computed", "[edge]") {
  const std::vector<double> x{1, 2, 3, 5}, y{1, 3, 3, 4};
  CrossTable cross(2);
  cross.add(0, 0), cross.add(1, 1), cross.add(0, 1);
  const auto unweighted = AgreementWeights::by_index(2, Weights::none);
  CHECK(kappa(cross, unweighted, 1.0).kappa.lower.why() == "the limits could not be computed");
  CHECK(concordance(x, y, 1.0).lower.why() == "the limits could not be computed");
  CHECK(limits_of_agreement(x, y, {.confidence = 1.0}).lower.lower.why() ==
        "the t distribution gave no value");
  const auto table = table_of({{1, 2}, {3, 5}, {4, 4}, {2, 1}});
  CHECK(icc(table, IccForm::icc_1_1, 1.0).icc.lower.why() == "the F distribution gave no value");
  CHECK(sem(*two_way(table), 1.0).consistency.lower.why() == "the chi-square distribution gave no value");
  CHECK(icc_reml(table, {.confidence = 1.0}).agreement.lower.why() ==
        "the distribution of the mean squares gave no limits");
  CHECK(intra_rater({x, y}, 1.0)->sem.lower.why() == "the chi-square distribution gave no value");
}

TEST_CASE("agreement that is perfect, or an F quantile out of reach, leaves an ICC without limits",
          "[edge]") {
  const Icc perfect = icc(table_of({{1, 1}, {2, 2}, {4, 4}}), IccForm::icc_2_1);
  CHECK(perfect.icc.lower.why() == "no variation besides that between cases: the limits are not defined");
  const Icc far_off = icc(table_of({{0, 4}, {0, 4}, {2, 1}}), IccForm::icc_2_1);
  CHECK(*far_off.icc.estimate < 0.0);
  CHECK(far_off.icc.upper.why() ==
        "Satterthwaite's degrees of freedom are near 0: the limits are not defined");
}

TEST_CASE("raters who differ by a constant on cases that do not differ leave no share of variance",
          "[edge]") {
  const IccReml reml = icc_reml(table_of({{1, 2}, {1, 2}, {1, 2}}));
  CHECK(reml.consistency.estimate.why() == "neither the cases nor the scores within a case vary");
  CHECK(*reml.agreement.estimate == 0.0);
  CHECK(icc_reml(table_of({{1, 1}, {2, 2}, {5, 5}})).agreement.lower.why() ==
        "the scores leave no error: limits are not defined");
}

TEST_CASE("what a fit cannot tell is said in the words of raters and cases", "[edge]") {
  CHECK(reason_of(stats::RemlProblem::confounded).text() ==
        "the design cannot tell the variance components apart");
  CHECK(reason_of(stats::RemlProblem::no_residual).text() ==
        "the scores leave no residual: the likelihood has no maximum");
}

TEST_CASE("three facets with gaps have no mean squares, and say when they fall apart", "[edge]") {
  std::vector<FacetScore> scores;  // cases 0-2 with raters 0, 1; cases 3-5 with raters 2, 3
  for (std::size_t c = 0; c < 6; ++c)
    for (std::size_t r = 0; r < 4; ++r)
      for (std::size_t i = 0; i < 3; ++i)
        if ((c < 3) == (r < 2)) scores.push_back({c, r, i, static_cast<double>((c * 7 + r * 3 + i * 5) % 8)});
  const auto table = FacetTable::from_scores(scores, 6, 4, 3).value();
  CHECK(facet_components_anova(table)[FacetTerm::case_].why() == "mean squares need a score in every cell");
  const FacetComponents reml = facet_components_reml(table);
  CHECK(reml.linked_groups == 2);
  CHECK(reml.note ==
        "cases and raters fall into groups that share no score: how groups compare rests on the assumption "
        "that their cases and raters are alike");
}

TEST_CASE("a decision study asks for a number of raters above 0", "[edge]") {
  CHECK(decision_study(Components{1.0, 1.0, 1.0}, {.raters = 0.0}).g.why() ==
        "a design needs raters and items: the numbers must be above 0");
}

TEST_CASE("resampling that tells nothing says why", "[edge]") {
  const auto mean = [](std::span<const double> weights) -> std::optional<double> {
    double sum = 0.0;
    for (std::size_t i = 0; i < weights.size(); ++i) sum += static_cast<double>(i) * weights[i];
    return sum;
  };
  const auto needs_first = [&](std::span<const double> weights) {
    return weights[0] > 0.0 ? mean(weights) : std::nullopt;
  };
  const auto why = [](std::size_t cases, const stats::WeightedStatistic& statistic, std::size_t resamples) {
    const Estimate e = resampled_by_case(1.0, cases, statistic, {}, {.bootstrap = {.resamples = resamples}});
    CHECK(*e.estimate == 1.0);
    CHECK(e.upper.why() == e.lower.why());
    return std::string(e.lower.why());
  };
  CHECK(why(5, mean, 0) == "no resamples were asked for");
  CHECK(why(5, mean, 50) == "fewer than 100 resamples of the cases have a value");
  CHECK(why(5, needs_first, 2000) == "more than one resample of the cases in ten has no value");
  CHECK(why(3'000'000, mean, 2000) == "too many cases to resample; ask for fewer resamples");
  CHECK(why(5, mean, 2000).empty());
}

TEST_CASE("leaving out cases needs three of them, and a value without each", "[edge]") {
  const auto value = [](std::size_t i) { return Value(static_cast<double>(i)); };
  const auto lost = [](std::size_t i) { return i == 1 ? Value(Reason("no case")) : Value(0.5); };
  CHECK(jackknifed_by_case(0.5, 2, value, 0.95).se.why() ==
        "fewer than three cases: their spread cannot be told");
  CHECK(jackknifed_by_case(0.5, 3, lost, 0.95).estimate.lower.why() ==
        "without one of the cases there is no value");
  CHECK(jackknifed_by_case(0.5, 3, value, 1.0).estimate.upper.why() == "the limits could not be computed");
}

TEST_CASE("an item without keys, without errors or with many levels says what is missing", "[edge]") {
  const Scale scale = make_scale(zero_to_four).value();
  const std::vector<KeyedScore> equal{{0, 1, 1}, {1, 2, 2}, {2, 4, 4}}, off{{0, 1, 2}, {1, 2, 2}, {2, 4, 3}};
  const std::vector<double> no_errors{0, 0, 0}, some_errors{1, 0, 1};
  CHECK(disagreement({}, scale, 3, some_errors).exact.estimate.why() == "no score stands beside a key");
  CHECK(disagreement(equal, scale, 3, no_errors).share.estimate.why() ==
        "every score equals its key: there is no disagreement to share");
  CHECK(disagreement(off, scale, 3, {}).share.estimate.why() ==
        "a total is the sum of the items and has no share of its own");
  std::vector<std::string> many;
  for (int i = 0; i <= 30; ++i) many.push_back(std::to_string(i));
  const Disagreement wide = disagreement(off, make_scale(many).value(), 3, some_errors);
  CHECK(wide.tabulated.why() == "too many categories to tabulate");
  CHECK(wide.kappa.linear.estimate.defined());
  CHECK(disagreement(equal, scale, 3, no_errors).kappa.linear.lower.why() ==
        "agreement is perfect, with or without one of the cases: no error can be told");
  for (int i = 31; i < 250; ++i) many.push_back(std::to_string(i));
  std::vector<KeyedScore> cases;
  for (std::uint32_t i = 0; i < 3300; ++i)
    cases.push_back({i, static_cast<std::int32_t>(i % 250), static_cast<std::int32_t>((i * i) % 250)});
  const Disagreement large = disagreement(cases, make_scale(many).value(), cases.size(), {});
  CHECK(large.kappa.none.estimate.defined());
  CHECK(large.kappa.none.upper.why() == "too many cases of too many categories to leave out each in turn");
}

TEST_CASE("items that everybody gets right have no kappa to average", "[edge]") {
  auto m = matrix(3, 4, 2, zero_to_four, [](std::size_t, std::size_t, std::size_t) { return 4; });
  m.key = 2;
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  CHECK(result->across_items.mean_item_kappa.none.estimate.why() == "no item has a kappa");
  CHECK(result->across_items.per_rater[0].mean_item_kappa.quadratic.estimate.why() == "no item has a kappa");
  CHECK(*result->across_items.exact.estimate == 1.0);
}

TEST_CASE("a key without a score beside it leaves nothing to count", "[edge]") {
  auto m = matrix(3, 4, 2, zero_to_four, [](std::size_t r, std::size_t c, std::size_t) {
    return r == 2 ? -1 : static_cast<int>(c);
  });
  m.key = 2;
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  CHECK(result->across_items.exact.estimate.why() == "no score stands beside a key");
  CHECK(result->across_items.bias.estimate.why() == "no score stands beside a key");
}

TEST_CASE("ordered labels have ranks, kappas and shares, but no points", "[edge]") {
  auto m = matrix(3, 5, 2, {"0", "1", "1+"}, [](std::size_t r, std::size_t c, std::size_t i) {
    return static_cast<int>((r + 2 * c + i) % 3);
  });
  m.key = 2;
  const auto result = agreement::agreement(m, {.level = Level::ordinal});
  REQUIRE(result);
  CHECK(result->measures[0].icc[1].icc.estimate.why() == "the categories are labels, not numbers");
  CHECK(result->measures[0].icc_reml.agreement.estimate.why() == "the categories are labels, not numbers");
  CHECK(result->measures[0].pairs[0].bias.bias.estimate.why() == "the categories are labels, not numbers");
  CHECK(result->across_items.bias.estimate.why() == "the categories are labels, not numbers");
  CHECK(result->measures[0].pairs[0].kappa.linear.kappa.estimate.defined());
}

TEST_CASE("above thirty raters Light's kappa is left out, and says so", "[edge]") {
  const auto m = matrix(31, 4, 1, zero_to_four, [](std::size_t r, std::size_t c, std::size_t) {
    return static_cast<int>((r * c) % 5);
  });
  const auto result = agreement::agreement(m, {.only = {Statistic::light_kappa, Statistic::conger_kappa}});
  REQUIRE(result);
  CHECK(result->measures[0].light_kappa.estimate.estimate.why() ==
        "left out above 30 raters: it is a mean over all pairs of them");
  CHECK(result->measures[0].conger_kappa.estimate.estimate.defined());
}

TEST_CASE("one rater has no group statistic, two who share no case have few", "[edge]") {
  const auto scores = [](std::size_t r, std::size_t c, std::size_t) {
    return (r == 0) == (c < 2) ? static_cast<int>(c) : -1;
  };
  const auto alone = agreement::agreement(matrix(1, 2, 1, zero_to_four, scores));
  REQUIRE(alone);
  CHECK(alone->measures[0].icc[1].icc.estimate.why() == "fewer than two raters");
  CHECK(alone->measures[0].icc_reml.agreement.estimate.why() == "fewer than two raters");
  const auto apart = agreement::agreement(matrix(2, 4, 1, zero_to_four, scores));
  REQUIRE(apart);
  CHECK(apart->measures[0].icc[1].icc.estimate.why() == "fewer than two cases were scored by every rater");
  CHECK(apart->measures[0].mdc95.agreement.why() == "fewer than two cases were scored by every rater");
  CHECK(apart->measures[0].pairs[0].n == 0);
}

TEST_CASE("repeats that are all alike have an error of 0 without limits", "[edge]") {
  const auto alike = intra_rater({{1, 2, 3}, {1, 2, 3}});
  REQUIRE(alike);
  CHECK(*alike->sem.estimate == 0.0);
  CHECK(alike->sem.lower.why() == "all repeats are alike: limits are not defined");
}

TEST_CASE("a rater without a case, and a round without errors, are told in a funnel", "[edge]") {
  CHECK(funnel({})->center.why() == "no rater has a case");
  const std::vector<std::vector<double>> one_each{{1.0}, {}, {2.0}};
  const auto single = funnel(one_each);
  CHECK(single->raters[1].mean.why() == "no case");
  CHECK(single->raters[0].inner_lower.why() == "no limits");
}
