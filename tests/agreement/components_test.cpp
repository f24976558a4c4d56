// Components, the agreement they give, decision studies and errors by level: properties and edges. The
// reference values are in components_reference_test.cpp.
#include <cmath>

#include <catch2/catch.hpp>

#include "agreement/decision_study.hpp"
#include "agreement/facet_components.hpp"
#include "agreement/icc.hpp"
#include "agreement/icc_reml.hpp"
#include "agreement/sem.hpp"
#include "agreement/sem_by_level.hpp"
#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

using Rows = std::vector<std::vector<RatingTable::Cell>>;
constexpr std::nullopt_t none = std::nullopt;

RatingTable table_of(const Rows& rows) { return RatingTable::from_rows(rows).value(); }

struct Spread {
  double case_ = 1.0, rater = 0.4, residual = 0.5;  // standard deviations
};

Rows draw(base::Random& random, std::size_t cases, std::size_t raters, Spread sd, double gaps) {
  std::vector<double> severity;
  for (std::size_t j = 0; j < raters; ++j) severity.push_back(random.normal(0.0, sd.rater));
  Rows rows;
  for (std::size_t i = 0; i < cases; ++i) {
    const double ability = random.normal(0.0, sd.case_);
    rows.emplace_back();
    for (std::size_t j = 0; j < raters; ++j) {
      const double score = ability + severity[j] + random.normal(0.0, sd.residual);
      rows.back().push_back(random.chance(gaps) ? RatingTable::Cell() : RatingTable::Cell(score));
    }
  }
  return rows;
}

std::vector<FacetScore> draw_facets(base::Random& random, double gaps) {
  std::vector<FacetScore> scores;
  std::array<double, 7> ability{}, severity{}, ease{};
  for (auto* effects : {&ability, &severity, &ease})
    for (double& x : *effects) x = random.normal();
  for (std::size_t c = 0; c < 7; ++c)
    for (std::size_t r = 0; r < 5; ++r)
      for (std::size_t i = 0; i < 4; ++i)
        if (!random.chance(gaps))
          scores.push_back({c, r, i, ability[c] + severity[r] + ease[i] + random.normal(0.0, 0.7)});
  return scores;
}

}  // namespace

TEST_CASE("a complete table gives the closed form of agreement and of its error", "[property]") {
  base::Random random(31);
  const RatingTable table = table_of(draw(random, 12, 4, {}, 0.0));
  const IccReml reml = icc_reml(table);
  const auto squares = two_way(table).value();
  const auto closed = icc_all(squares);
  CHECK(*reml.agreement.estimate == Approx(*closed[1].icc.estimate).epsilon(1e-8));
  CHECK(*reml.agreement_mean.estimate == Approx(*closed[4].icc.estimate).epsilon(1e-8));
  CHECK(*reml.consistency.estimate == Approx(*closed[2].icc.estimate).epsilon(1e-8));
  CHECK(*reml.consistency.lower == Approx(*closed[2].icc.lower).epsilon(1e-8));
  CHECK(*reml.consistency.upper == Approx(*closed[2].icc.upper).epsilon(1e-8));
  CHECK(*reml.consistency_mean.lower == Approx(*closed[5].icc.lower).epsilon(1e-8));
  const Sem error = sem(squares);
  CHECK(*reml.sem_agreement.estimate == Approx(*error.agreement.estimate).epsilon(1e-8));
  CHECK(*reml.sem_consistency.lower == Approx(*error.consistency.lower).epsilon(1e-8));
  CHECK(*reml.sem_consistency.upper == Approx(*error.consistency.upper).epsilon(1e-8));
  CHECK(reml.converged);
  CHECK(reml.note.empty());
  CHECK((reml.cases == 12 && reml.raters == 4 && reml.ratings == 48 && reml.linked_groups == 1));
}

TEST_CASE("a constant, and another order of cases and raters, leave agreement as it is", "[property]") {
  base::Random random(32);
  const Rows rows = draw(random, 9, 4, {}, 0.15);
  Rows moved = rows, permuted;
  for (auto& row : moved)
    for (auto& cell : row)
      if (cell) *cell += 500.0;
  for (std::size_t i = rows.size(); i-- > 0;)
    permuted.push_back({rows[i][2], rows[i][0], rows[i][3], rows[i][1]});
  const IccReml before = icc_reml(table_of(rows));
  for (const Rows& other : {moved, permuted}) {
    const IccReml after = icc_reml(table_of(other));
    CHECK(*after.agreement.estimate == Approx(*before.agreement.estimate).epsilon(1e-7));
    CHECK(*after.agreement.lower == Approx(*before.agreement.lower).epsilon(1e-6));
    CHECK(*after.agreement.upper == Approx(*before.agreement.upper).epsilon(1e-6));
    CHECK(*after.sem_agreement.upper == Approx(*before.sem_agreement.upper).epsilon(1e-6));
  }
}

TEST_CASE("limits of agreement and of its error cover the truth where few raters differ a lot") {
  // 40 cases, 2 raters, 60 % of the error is theirs; Satterthwaite's F limits cover .79 here.
  base::Random random(33);
  const Spread sd{1.0, std::sqrt(0.15), std::sqrt(0.10)};
  constexpr int trials = 400;
  int shares = 0, errors = 0, textbook = 0;
  for (int t = 0; t < trials; ++t) {
    const RatingTable table = table_of(draw(random, 40, 2, sd, t % 2 ? 0.1 : 0.0));
    const IccReml fit = icc_reml(table);
    REQUIRE(fit.agreement.lower);
    shares += *fit.agreement.lower <= 0.8 && 0.8 <= *fit.agreement.upper;
    errors += *fit.sem_agreement.lower <= 0.5 && 0.5 <= *fit.sem_agreement.upper;
    const Icc f = icc(table, IccForm::icc_2_1);
    textbook += *f.icc.lower <= 0.8 && 0.8 <= *f.icc.upper;
  }
  CHECK(shares > 0.92 * trials);  // Monte Carlo error .011
  CHECK(errors > 0.92 * trials);
  CHECK(textbook < 0.88 * trials);
}

TEST_CASE("agreement of a table with nothing to go on is undefined in words", "[edge]") {
  const auto why = [](const Rows& rows) {
    const IccReml result = icc_reml(table_of(rows));
    CHECK_FALSE(result.components.case_);
    CHECK_FALSE(result.sem_consistency.estimate);
    return std::string(result.agreement.estimate.why());
  };
  CHECK(why({}) == "fewer than two cases or fewer than two raters have a score");
  CHECK(why({{1, 2, 3}}) == "fewer than two cases or fewer than two raters have a score");
  CHECK(why({{1}, {2}}) == "fewer than two cases or fewer than two raters have a score");
  CHECK(why({{3, 3}, {3, none}, {3, 3}}) == "all scores are the same");
  CHECK(why({{1, 2}, {2, none}, {none, 3}}) ==
        "every score is needed to place the cases and raters: none is left for the residual");
}

TEST_CASE("perfect agreement with gaps is 1 and has no error to limit", "[edge]") {
  const IccReml perfect = icc_reml(table_of({{1, 1, 1}, {4, none, 4}, {2, 2, none}, {5, 5, 5}}));
  CHECK(*perfect.agreement.estimate == 1.0);
  CHECK(*perfect.consistency_mean.estimate == 1.0);
  CHECK(*perfect.sem_agreement.estimate == 0.0);
  CHECK_FALSE(perfect.agreement.lower);
  CHECK_FALSE(perfect.sem_agreement.upper);
  CHECK(perfect.rater_at_bound);
  const IccReml one_apart = icc_reml(table_of({{1, 2}, {4, 5}, {2, 3}, {5, 6}}));
  CHECK(*one_apart.consistency.estimate == 1.0);
  CHECK(*one_apart.components.rater == Approx(0.5));
}

TEST_CASE("cases that do not differ have agreement 0, not less", "[edge]") {
  const IccReml alike = icc_reml(table_of({{1, 2, 9}, {2, 9, 1}, {9, 1, 2}, {1, 9, none}}));
  CHECK(*alike.agreement.estimate == 0.0);
  CHECK(*alike.agreement.lower == 0.0);
  CHECK(alike.case_at_bound);
}

TEST_CASE("a disconnected design is told in words", "[edge]") {
  const IccReml apart =
      icc_reml(table_of({{1, 2, none, none}, {3, 5, none, none}, {none, none, 3, 5}, {none, none, 6, 6}}));
  CHECK(apart.linked_groups == 2);
  CHECK(apart.note.find("groups that share no rating") != std::string_view::npos);
  CHECK(apart.agreement.estimate);
}

TEST_CASE("one-way agreement without a second score is undefined", "[edge]") {
  CHECK(one_way_reml(table_of({{1, none}, {none, 2}})).icc.why() == "no case has two scores");
  CHECK(one_way_reml(table_of({{1, 2}})).icc.why() == "fewer than two cases have a score");
}

TEST_CASE("three facets by mean squares and by likelihood agree when nothing is negative", "[property]") {
  base::Random random(34);
  std::size_t compared = 0;
  for (int t = 0; t < 20; ++t) {
    const auto table = FacetTable::from_scores(draw_facets(random, 0.0), 7, 5, 4).value();
    const FacetComponents anova = facet_components_anova(table), reml = facet_components_reml(table);
    bool positive = true;
    for (const Value& v : anova.variance) positive = positive && *v >= 0.0;
    if (!positive) {
      for (const Value& v : reml.variance) CHECK(*v >= 0.0);
      continue;
    }
    ++compared;
    for (std::size_t i = 0; i < facet_terms.size(); ++i)
      CHECK(*reml.variance[i] == Approx(*anova.variance[i]).epsilon(1e-9));
  }
  CHECK(compared >= 1);
}

TEST_CASE("three facets with gaps are fitted from every score") {
  base::Random random(35);
  const auto table = FacetTable::from_scores(draw_facets(random, 0.1), 7, 5, 4).value();
  REQUIRE_FALSE(table.complete());
  const FacetComponents result = facet_components(table);
  CHECK(result.method == "REML");
  CHECK(result.converged);
  CHECK(result[FacetTerm::residual].defined());
  CHECK(*result[FacetTerm::residual] == Approx(0.49).epsilon(0.5));
  CHECK_FALSE(result.mean_square[0]);
  CHECK_FALSE(facet_components_anova(table).variance[0]);
}

TEST_CASE("three facets with too little in them say so", "[edge]") {
  const std::vector<FacetScore> one_item{{0, 0, 0, 1.0}, {0, 1, 0, 2.0}, {1, 0, 0, 3.0}, {1, 1, 0, 5.0}};
  const auto table = FacetTable::from_scores(one_item, 2, 2, 1).value();
  CHECK(facet_components(table)[FacetTerm::case_].why() ==
        "fewer than two cases, raters or items have a score");
  CHECK(facet_components_reml(table)[FacetTerm::residual].why() ==
        "fewer than two cases, raters or items have a score");
}

TEST_CASE("a facet table refuses what it cannot hold", "[edge]") {
  const auto message = [](std::vector<FacetScore> scores) {
    return FacetTable::from_scores(scores, 2, 2, 2).error().message;
  };
  CHECK(message({{0, 0, 0, 1.0}, {0, 0, 0, 2.0}}) == "score 2: case 1, rater 1, item 1 has a score already");
  CHECK(message({{0, 2, 0, 1.0}}) == "score 1: case 1, rater 3, item 1 is outside 2 x 2 x 2");
  CHECK(message({{0, 0, 0, std::nan("")}}) == "score 1: not a finite number");
}

TEST_CASE("nested raters that are not nested say so", "[edge]") {
  const auto why = [](std::vector<FacetScore> scores, std::size_t raters) {
    return nested_facet_components(FacetTable::from_scores(scores, 2, raters, 2).value()).case_.why();
  };
  CHECK(why({{0, 0, 0, 1.0}, {1, 0, 0, 1.0}, {0, 0, 1, 2.0}, {1, 0, 1, 2.0}}, 1) ==
        "a rater scored more than one item: raters are not nested");
  CHECK(why({{0, 0, 0, 1.0}, {1, 1, 1, 1.0}}, 2) == "a rater left out a case");
  CHECK(why({{0, 0, 0, 1.0}, {1, 0, 0, 1.0}}, 1) == "items have different numbers of raters");
  CHECK(why({{0, 0, 0, 1.0}, {1, 0, 0, 1.0}, {0, 1, 1, 2.0}, {1, 1, 1, 3.0}}, 2) ==
        "fewer than two cases, items, or raters an item");
}

TEST_CASE("more raters make a mean worth more, and a negative component can count as 0", "[property]") {
  const Components c{2.0, 0.5, 1.0};
  const DecisionStudy one = decision_study(c, {}), four = decision_study(c, {.raters = 4.0});
  CHECK(*one.g == Approx(2.0 / 3.0));
  CHECK(*one.phi == Approx(2.0 / 3.5));
  CHECK(*four.relative_error == Approx(0.25));
  CHECK(*four.absolute_error == Approx(0.375));
  CHECK(*four.phi > *one.phi);
  const Components negative{2.0, -0.2, 1.0};
  CHECK(decision_study(negative, {}).set_to_zero);
  CHECK(*decision_study(negative, {}).phi == Approx(2.0 / 3.0));
  const DecisionStudy raw = decision_study(negative, {.negative = NegativeVariance::raw});
  CHECK(*raw.phi == Approx(2.0 / 2.8));
  CHECK_FALSE(raw.set_to_zero);
}

TEST_CASE("a decision study without components, raters or variance is undefined", "[edge]") {
  CHECK(decision_study(Components::undefined("all scores are the same"), {}).g.why() ==
        "all scores are the same");
  CHECK_FALSE(decision_study(Components{1.0, 1.0, 1.0}, {.raters = 0.0}).phi);
  CHECK(decision_study(Components{0.0, 0.0, 0.0}, {}).g.why() == "case and error variance add up to nothing");
}

TEST_CASE("the error of a score is told by thirds of the scale") {
  base::Random random(36);
  Rows rows;
  for (const double level : {10.0, 28.0, 50.0})
    for (int i = 0; i < 15; ++i) {
      rows.emplace_back();
      const double sd = level > 40.0 ? 0.5 : 2.0;  // less room at the top
      for (int j = 0; j < 4; ++j) rows.back().push_back(level + random.normal(0.0, sd));
    }
  const auto thirds = sem_by_level(table_of(rows), 0.0, 56.0);
  CHECK(thirds[0].from == 0.0);
  CHECK(thirds[1].from == Approx(56.0 / 3.0));
  CHECK(thirds[2].to == 56.0);
  for (const auto& third : thirds) {
    CHECK(third.cases == 15);
    CHECK(third.ratings == 60);
    REQUIRE(third.sem.lower);
    CHECK(*third.sem.lower < *third.sem.estimate);
    CHECK(*third.sem.estimate < *third.sem.upper);
  }
  CHECK(*thirds[2].sem.upper < *thirds[1].sem.lower);
}

TEST_CASE("a third with too few cases, or without any error, says so", "[edge]") {
  const auto thirds = sem_by_level(table_of({{1, 2}, {56, 56}, {56, 56}, {56, none}}), 0.0, 56.0);
  CHECK(thirds[0].sem.estimate.why() == "one case has its mean in this third of the scale: two are needed");
  CHECK(thirds[1].sem.estimate.why() == "no case has its mean in this third of the scale");
  CHECK(thirds[2].cases == 3);
  CHECK(*thirds[2].sem.estimate == 0.0);
  CHECK(thirds[2].sem.lower.why() == "all scores are the same: limits are not defined");
}
