// Every reason for which a coefficient beside kappa and the ICC has no value, and the degenerate
// tables on which it has one.
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

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

bool says(const Value& value, const std::string& words) {
  INFO(value.why());
  return !value.defined() && value.why().find(words) != std::string_view::npos;
}

/// Scores case by case; below 0: no score.
struct Table {
  std::size_t raters, cases, q;
  std::vector<std::int32_t> places;

  Table(std::size_t q_, const std::vector<std::vector<std::int32_t>>& rows)
      : raters(rows.empty() ? 2 : rows[0].size()), cases(rows.size()), q(q_), places(raters * cases) {
    for (std::size_t c = 0; c < cases; ++c)
      for (std::size_t r = 0; r < raters; ++r) places[r * cases + c] = rows[c][r];
  }
  Placings view() const { return {places, raters, cases, q}; }
  CategoryCounts counts() const { return CategoryCounts::of(view()); }
};

AgreementWeights unweighted(std::size_t q) { return AgreementWeights::by_index(q, Weights::none); }

CrossTable cross(std::size_t q, const std::vector<std::size_t>& cells) {
  CrossTable table(q);
  for (std::size_t i = 0; i < cells.size(); ++i)
    for (std::size_t n = 0; n < cells[i]; ++n) table.add(i / q, i % q);
  return table;
}

RatingTable ratings(const std::vector<std::vector<RatingTable::Cell>>& rows) {
  return RatingTable::from_rows(rows).value();
}

const std::vector<AlphaMetric> metrics{AlphaMetric::nominal, AlphaMetric::ordinal, AlphaMetric::interval,
                                       AlphaMetric::ratio};

}  // namespace

TEST_CASE("Gwet's and Brennan-Prediger's coefficients need two ratings of a case", "[edge]") {
  for (const Table& table : {Table(2, {}), Table(2, {{-1, -1}}), Table(2, {{0, -1}, {-1, 1}})}) {
    CHECK(says(gwet(table.counts(), unweighted(2)).coefficient.estimate, "no case was scored by two"));
    CHECK(
        says(brennan_prediger(table.counts(), unweighted(2)).coefficient.lower, "no case was scored by two"));
    CHECK(says(fleiss_all_scores(table.counts(), unweighted(2)).se, "no case was scored by two"));
    CHECK(says(pairwise_agreement(table.counts(), unweighted(2)), "no case was scored by two"));
  }
  CHECK(gwet(Table(2, {{0, -1}, {-1, 1}}).counts(), unweighted(2)).cases == 2);
  CHECK(says(gwet(cross(2, {}), unweighted(2)).coefficient.estimate, "no case was scored by two"));
}

TEST_CASE("one category leaves nothing to chance", "[edge]") {
  const Table table(1, {{0, 0}, {0, 0}});
  CHECK(says(gwet(table.counts(), unweighted(1)).coefficient.estimate, "only one category"));
  CHECK(says(brennan_prediger(table.counts(), unweighted(1)).se, "only one category"));
  CHECK(*gwet(table.counts(), unweighted(1)).agreement == 1.0);
}

TEST_CASE("raters who gave every case one score have Gwet's coefficient, but no kappa", "[edge]") {
  const Table table(3, {{1, 1, 1}, {1, 1, 1}, {1, 1, -1}});
  const ChanceCorrected ac1 = gwet(table.counts(), unweighted(3));
  CHECK(*ac1.coefficient.estimate == 1.0);
  CHECK(*ac1.se == 0.0);
  CHECK(*ac1.coefficient.lower == 1.0);
  CHECK_FALSE(ac1.coefficient.outside_range);
  CHECK(*brennan_prediger(table.counts(), unweighted(3)).coefficient.estimate == 1.0);
  CHECK(
      says(fleiss_all_scores(table.counts(), unweighted(3)).coefficient.estimate, "every score is the same"));
  CHECK(says(fleiss_all_scores(table.counts(), unweighted(3)).se, "every score is the same"));
  const FleissKappas fleiss = fleiss_kappa(table.counts(), 3);
  CHECK(says(fleiss.kappa, "every score is the same"));
  CHECK(says(fleiss.se0, "every score is the same"));
  CHECK(says(fleiss.categories[1].kappa, "every score is this category"));
  CHECK(says(fleiss.categories[0].z, "nobody used this category"));
  CHECK(says(conger_kappa(table.view(), unweighted(3)), "same score"));
  CHECK(says(light_kappa(table.view(), unweighted(3)), "same score"));
  for (const auto metric : metrics)
    CHECK(says(alpha(AlphaUnits(table.counts(), {0, 1, 2}), metric), "every score is the same"));
}

TEST_CASE("weights that count everything as agreeing leave nothing to chance", "[edge]") {
  const auto ones = AgreementWeights::from_matrix({1, 1, 1, 1}).value();
  const Table table(2, {{0, 1}, {1, 0}});
  CHECK(says(gwet(table.counts(), ones).coefficient.estimate, "the weights count"));
  CHECK(says(brennan_prediger(table.counts(), ones).coefficient.estimate, "the weights count"));
  CHECK(says(fleiss_all_scores(table.counts(), ones).coefficient.estimate, "the weights count"));
}

TEST_CASE("one case has a coefficient without an error", "[edge]") {
  const Table table(2, {{0, 1}});
  const ChanceCorrected one = gwet(table.counts(), unweighted(2));
  CHECK(*one.coefficient.estimate == -1.0);
  CHECK(says(one.se, "fewer than two cases"));
  CHECK(says(one.coefficient.lower, "fewer than two cases"));
  CHECK(says(brennan_prediger(cross(2, {0, 1, 0, 0}), unweighted(2)).coefficient.upper,
             "fewer than two cases"));
}

TEST_CASE("a confidence that is none gives no limits", "[edge]") {
  const Table table(2, {{0, 1}, {1, 1}, {0, 0}});
  const ChanceCorrected result = gwet(table.counts(), unweighted(2), 1.0);
  CHECK(result.coefficient.estimate.defined());
  CHECK(says(result.coefficient.lower, "could not be computed"));
}

TEST_CASE("a limit outside the range is given as computed, with a flag", "[edge]") {
  const Table table(2, {{0, 0}, {1, 1}, {0, 0}, {1, 1}, {0, 1}});
  const ChanceCorrected result = gwet(table.counts(), unweighted(2));
  CHECK(*result.coefficient.upper > 1.0);
  CHECK(result.coefficient.outside_range);
  // The least Brennan-Prediger value is below -1 for weights that are kind by chance.
  const Table far(5, {{0, 4}, {4, 0}, {0, 4}});
  const ChanceCorrected least =
      brennan_prediger(far.counts(), AgreementWeights::by_index(5, Weights::quadratic));
  CHECK(*least.coefficient.estimate == Approx(-3.0));
  CHECK_FALSE(least.coefficient.outside_range);
}

TEST_CASE("Fleiss', Conger's and Light's kappa need two raters and a case", "[edge]") {
  const Table one(2, {{0}, {1}}), gaps(2, {{0, -1}, {-1, 1}}), apart(2, {{0, 0, -1}, {1, 0, -1}, {-1, 1, 1}});
  CHECK(says(fleiss_kappa(one.counts(), 1).kappa, "fewer than two raters"));
  CHECK(says(conger_kappa(one.view(), unweighted(2)), "fewer than two raters"));
  CHECK(says(light_kappa(one.view(), unweighted(2)), "fewer than two raters"));
  CHECK(says(fleiss_kappa(gaps.counts(), 2).z, "no case was scored by every rater"));
  CHECK(says(fleiss_kappa(gaps.counts(), 2).categories[0].kappa, "no case was scored by every rater"));
  CHECK(says(conger_kappa(gaps.view(), unweighted(2)), "no case was scored by every rater"));
  CHECK(says(light_kappa(apart.view(), unweighted(2)), "share no case"));
}

TEST_CASE("raters who are constant and differ have a kappa of 0", "[edge]") {
  const Table table(2, {{0, 1}, {0, 1}, {0, 1}});
  CHECK(*conger_kappa(table.view(), unweighted(2)) == 0.0);
  CHECK(*light_kappa(table.view(), unweighted(2)) == 0.0);
  CHECK(*fleiss_kappa(table.counts(), 2).kappa == -1.0);
}

TEST_CASE("alpha needs two cases with two scores, and scores that differ", "[edge]") {
  const auto alpha_of = [](const std::vector<std::vector<RatingTable::Cell>>& rows, AlphaMetric metric) {
    return alpha(AlphaUnits::of(ratings(rows)), metric);
  };
  for (const auto metric : metrics) {
    CHECK(says(alpha_of({}, metric), "no case was scored by two"));
    CHECK(says(alpha_of({{1.0, {}}, {{}, 2.0}}, metric), "no case was scored by two"));
    CHECK(says(alpha_of({{1.0, 2.0}, {{}, 2.0}}, metric), "only one case"));
    CHECK(says(alpha_of({{2.0, 2.0}, {2.0, 2.0}, {1.0, {}}}, metric), "every score is the same"));
    CHECK(*alpha_of({{2.0, 2.0}, {1.0, 1.0}}, metric) == 1.0);
  }
  CHECK(says(alpha_of({{-1.0, 2.0}, {1.0, 1.0}}, AlphaMetric::ratio), "0 or more"));
  CHECK(*alpha_of({{0.0, 0.0}, {1.0, 1.0}}, AlphaMetric::ratio) == 1.0);
  CHECK(alpha_of({{-1.0, 2.0}, {1.0, 1.0}}, AlphaMetric::interval).defined());
}

TEST_CASE("alpha of a resample that lost its cases says so", "[edge]") {
  const AlphaUnits units = AlphaUnits::of(ratings({{1.0, 2.0}, {2.0, 2.0}, {3.0, {}}}));
  CHECK(units.cases() == 3);
  CHECK(units.paired() == 2);
  for (const auto metric : metrics) {
    CHECK(says(alpha(units, metric, std::vector<double>{0, 0, 3}), "no case was scored by two"));
    CHECK(says(alpha(units, metric, std::vector<double>{1, 0, 2}), "only one case"));
    CHECK(says(alpha(units, metric, std::vector<double>{0, 3, 0}), "every score is the same"));
    CHECK(alpha(units, metric, std::vector<double>{2, 0, 1}).defined());
    const auto without = alpha_without_each(units, metric);
    CHECK(says(without[0], "only one case"));
    CHECK(*without[2] == *alpha(units, metric));
  }
  CHECK(alpha_without_each(AlphaUnits::of(ratings({})), AlphaMetric::nominal).empty());
}

TEST_CASE("Kendall's W needs raters, cases and something to rank", "[edge]") {
  CHECK(says(kendall_w(ratings({{1.0}, {2.0}})).w, "fewer than two raters"));
  CHECK(says(kendall_w(ratings({{1.0, 2.0}})).w, "fewer than two cases"));
  CHECK(says(kendall_w(ratings({{1.0, 2.0}, {1.0, {}}})).uncorrected, "fewer than two cases"));
  const RankConcordance flat = kendall_w(ratings({{1.0, 2.0}, {1.0, 2.0}, {1.0, 2.0}}));
  CHECK(says(flat.w, "same score"));
  CHECK(says(flat.chi2, "same score"));
  CHECK(*flat.uncorrected == 0.0);
  CHECK(flat.cases == 3);
  const RankConcordance alike = kendall_w(ratings({{1.0, 1.0}, {2.0, 5.0}, {3.0, 6.0}}));
  CHECK(*alike.w == 1.0);
  CHECK(alike.p.defined());
  CHECK(says(alike.f, "infinite"));
  CHECK(says(alike.f_p, "infinite"));
  CHECK(says(kendall_w(ratings({{1.0, 2.0}, {2.0, 1.0}})).f_df1, "no degree of freedom"));
  CHECK(*kendall_w(ratings({{1.0, 2.0}, {2.0, 1.0}})).w == 0.0);
  // One rater constant: the others still rank.
  CHECK(*kendall_w(ratings({{1.0, 1.0}, {1.0, 2.0}, {1.0, 3.0}})).w == 0.5);
}

TEST_CASE("concordance needs cases and a spread", "[edge]") {
  const auto of = [](const std::vector<double>& x, const std::vector<double>& y) {
    return concordance(x, y);
  };
  CHECK(says(of({}, {}).estimate, "fewer than two cases"));
  CHECK(says(of({1}, {2}).estimate, "fewer than two cases"));
  CHECK(says(of({2, 2}, {2, 2}).estimate, "one and the same score"));
  CHECK(*of({2, 2}, {3, 3}).estimate == 0.0);
  CHECK(says(of({1, 2}, {1, 3}).lower, "fewer than three cases"));
  CHECK(says(of({2, 2, 2}, {1, 2, 3}).upper, "one gave every case the same score"));
  CHECK(*of({2, 2, 2}, {1, 2, 3}).estimate == 0.0);
  CHECK(*of({1, 2, 3}, {1, 2, 3}).estimate == 1.0);
  CHECK(says(of({1, 2, 3}, {1, 2, 3}).lower, "infinite"));
  CHECK(says(of({1, 2, 3}, {3, 2, 1}).lower, "infinite"));
  // Uncorrelated raters have limits, about 0.
  const Estimate none = of({1, 2, 1, 2}, {1, 1, 2, 2});
  CHECK(*none.estimate == 0.0);
  CHECK(*none.lower == Approx(-*none.upper));
  CHECK(*none.upper > 0.5);
}

TEST_CASE("tests of marginal homogeneity need a discordant case", "[edge]") {
  CHECK(says(stuart_maxwell(cross(3, {})).chi2, "no case"));
  CHECK(says(bowker(cross(3, {})).p_all, "no case"));
  CHECK(says(mcnemar(cross(2, {})).exact_p, "no case"));
  const CrossTable alike = cross(2, {3, 0, 0, 4});
  CHECK(says(stuart_maxwell(alike).p, "no difference to test"));
  CHECK(says(bowker(alike).df, "no difference to test"));
  CHECK(says(mcnemar(alike).chi2_corrected, "no difference to test"));
  CHECK(says(mcnemar(cross(3, {1, 1, 0, 0, 1, 0, 0, 0, 1})).chi2, "two categories only"));
  // As often one way as the other.
  const McNemar even = mcnemar(cross(2, {0, 3, 3, 0}));
  CHECK(*even.chi2 == 0.0);
  CHECK(*even.chi2_corrected == 0.0);
  CHECK(*even.exact_p == 1.0);
}

TEST_CASE("discordant categories in groups that never mix are tested group by group", "[edge]") {
  // 0 and 1 swap, 2 and 3 swap: two McNemar tests added up.
  const CrossTable table = cross(5, {5, 6, 0, 0, 0,  //
                                     1, 5, 0, 0, 0,  //
                                     0, 0, 5, 2, 0,  //
                                     0, 0, 7, 5, 0,  //
                                     0, 0, 0, 0, 9});
  const HomogeneityTest result = stuart_maxwell(table);
  CHECK(*result.chi2 == Approx(25.0 / 7.0 + 25.0 / 9.0));
  CHECK(*result.df == 2.0);
}
