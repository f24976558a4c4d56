// Every reason for which a statistic has no value, and every input that is refused.
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/agreement.hpp"
#include "agreement/clustered.hpp"
#include "agreement/rating_table.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

using Rows = std::vector<std::vector<RatingTable::Cell>>;

RatingTable table_of(const Rows& rows) {
  const auto table = RatingTable::from_rows(rows);
  REQUIRE(table);
  return *table;
}

CrossTable counts(std::size_t q, const std::vector<std::size_t>& cells) {
  CrossTable table(q);
  for (std::size_t i = 0; i < cells.size(); ++i)
    for (std::size_t n = 0; n < cells[i]; ++n) table.add(i / q, i % q);
  return table;
}

Kappa unweighted(const CrossTable& table) {
  return kappa(table, AgreementWeights::by_index(table.categories(), Weights::none));
}

bool says(const Value& value, const std::string& words) {
  INFO(value.why());
  return !value.defined() && value.why().find(words) != std::string_view::npos;
}

template <class T>
bool refused(const Result<T>& result, const std::string& words) {
  if (result) return false;
  INFO(result.error().message);
  return result.error().code == Errc::invalid && result.error().message.find(words) != std::string::npos;
}

ScoreMatrix two_by_two() {
  ScoreMatrix m;
  m.raters = {"ann", "ben"};
  m.cases = {"1", "2"};
  m.items = {"sit"};
  m.categories = {"0", "1"};
  m.resize_cells();
  return m;
}

}  // namespace

TEST_CASE("a table is refused where it is ragged or not finite", "[edge]") {
  CHECK(refused(RatingTable::from_rows(Rows{{1.0, 2.0}, {1.0}}), "row 2"));
  CHECK(refused(RatingTable::from_rows(Rows{{1.0, 2.0}, {1.0, 1.0 / 0.0}}), "row 2, rater 2"));
  CHECK(RatingTable::from_rows(Rows{})->cases() == 0);
}

TEST_CASE("an ICC needs two cases and two raters", "[edge]") {
  for (const auto& rows : {Rows{{1.0, 2.0}}, Rows{{1.0}, {2.0}}, Rows{{1.0, {}}, {2.0, 3.0}}, Rows{}})
    for (const IccForm form : icc_forms) {
      const Icc result = icc(table_of(rows), form);
      CHECK(says(result.icc.estimate, "fewer than two"));
      CHECK(says(result.p, "fewer than two"));
    }
}

TEST_CASE("an ICC of scores that are all the same has no value", "[edge]") {
  for (const IccForm form : {IccForm::icc_1_1, IccForm::icc_2_1, IccForm::icc_3_1}) {
    const Icc result = icc(table_of({{3.1, 3.1}, {3.1, 3.1}, {3.1, 3.1}}), form);
    CHECK(says(result.icc.estimate, "all scores are the same"));
    CHECK(says(result.icc.lower, "all scores are the same"));
    CHECK(says(result.f, "all scores are the same"));
  }
}

TEST_CASE("averages of cases that do not differ have no ICC", "[edge]") {
  for (const IccForm form : {IccForm::icc_1_k, IccForm::icc_3_k})
    CHECK(says(icc(table_of({{1.0, 2.0}, {2.0, 1.0}}), form).icc.estimate, "do not differ"));
}

TEST_CASE("raters who agree perfectly have an ICC of 1 without F or limits", "[edge]") {
  for (const IccForm form : icc_forms) {
    const Icc result = icc(table_of({{1.0, 1.0}, {2.0, 2.0}, {4.0, 4.0}}), form);
    CHECK(*result.icc.estimate == Approx(1.0));
    CHECK(says(result.f, "infinite"));
    CHECK(says(result.p, "infinite"));
    CHECK_FALSE(result.icc.lower.defined());
    CHECK_FALSE(result.icc.upper.defined());
  }
}

TEST_CASE("one-way limits are withheld where cases have different numbers of raters", "[edge]") {
  const Icc result = icc_one_way(table_of({{1.0, 2.0, {}}, {3.0, 4.0, 4.0}, {5.0, 7.0, 6.0}}));
  CHECK(result.icc.estimate.defined());
  CHECK(says(result.icc.lower, "different numbers"));
  CHECK(result.p.defined());
  CHECK(says(icc_one_way(table_of({{1.0, {}}, {{}, 2.0}})).icc.estimate, "no case scored by two"));
  const auto balanced = table_of({{1.0, 2.0}, {3.0, 4.0}, {5.0, 7.0}});
  CHECK(*icc_one_way(balanced).icc.lower == Approx(*icc(balanced, IccForm::icc_1_1).icc.lower));
}

TEST_CASE("kappa without a case, or with one category, has no value", "[edge]") {
  CHECK(says(unweighted(counts(3, {})).kappa.estimate, "no case"));
  const Kappa one = unweighted(counts(3, {0, 0, 0, 0, 5}));
  CHECK(says(one.kappa.estimate, "every case the same score"));
  CHECK(says(one.max, "every case the same score"));
  CHECK(says(kappa_estimate(counts(2, {}), AgreementWeights::by_index(2, Weights::none)), "no case"));
  CHECK(says(maximum_kappa(counts(2, {})), "no case"));
}

TEST_CASE("a rater who gives one score throughout has kappa 0 and no test", "[edge]") {
  const Kappa result = unweighted(counts(2, {3, 4, 0, 0}));
  CHECK(*result.kappa.estimate == 0.0);
  CHECK(*result.se == 0.0);
  CHECK(says(result.z, "one gave every case the same score"));
}

TEST_CASE("a limit of kappa beyond 1 is given as computed, with a flag", "[edge]") {
  const Kappa result = unweighted(counts(2, {2, 0, 1, 3}));
  REQUIRE(result.kappa.upper.defined());
  CHECK(*result.kappa.upper > 1.0);
  CHECK(result.kappa.outside_range);
  CHECK_FALSE(unweighted(counts(2, {20, 5, 5, 20})).kappa.outside_range);
}

TEST_CASE("the largest kappa and the two indices know where they apply", "[edge]") {
  const auto table = counts(3, {2, 1, 0, 1, 2, 1, 0, 1, 2});
  CHECK(says(kappa(table, AgreementWeights::by_index(3, Weights::linear)).max, "unweighted"));
  CHECK(says(prevalence_index(table), "two categories only"));
  CHECK(says(bias_index(table), "two categories only"));
  CHECK(says(prevalence_index(counts(2, {})), "no case"));
  CHECK(says(bias_index(counts(2, {})), "no case"));
}

TEST_CASE("weights that are none are refused", "[edge]") {
  CHECK(refused(AgreementWeights::from_matrix({1, 0, 0}), "square"));
  CHECK(refused(AgreementWeights::from_matrix({}), "square"));
  CHECK(refused(AgreementWeights::from_matrix({1, 2, 0, 1}), "row 1, column 2"));
  CHECK(refused(AgreementWeights::from_matrix({1, 0, 0, 0.5}), "row 2, column 2"));
  const std::vector<double> same{2, 2};
  CHECK(refused(AgreementWeights::by_value(same, Weights::linear), "different values"));
}

TEST_CASE("percent agreement without a case has no value", "[edge]") {
  const Proportion none = exact_agreement({}, {});
  CHECK(says(none.estimate, "no case"));
  CHECK(says(none.exact_upper, "no case"));
}

TEST_CASE("bias needs a case, its limits two, its test a spread", "[edge]") {
  CHECK(says(bias(std::vector<double>(), std::vector<double>()).bias.estimate, "no case"));
  CHECK(says(bias(std::vector<double>(), std::vector<double>()).mae, "no case"));
  const std::vector<double> a{3}, b{1}, c{3, 4, 5}, d{1, 2, 3};
  CHECK(*bias(a, b).bias.estimate == 2.0);
  CHECK(says(bias(a, b).bias.lower, "fewer than two"));
  CHECK(says(bias(a, b).p, "fewer than two"));
  CHECK(says(bias(c, d).p, "all differences are equal"));
  CHECK(*bias(c, d).bias.lower == 2.0);
  CHECK(says(bias(c, c).wilcoxon_p, "every difference is zero"));
}

TEST_CASE("limits of agreement need two cases", "[edge]") {
  const std::vector<double> a{3}, b{1};
  CHECK(says(limits_of_agreement({}, {}).bias, "no case"));
  CHECK(*limits_of_agreement(a, b).bias == 2.0);
  CHECK(says(limits_of_agreement(a, b).sd, "fewer than two"));
  CHECK(says(limits_of_agreement(a, b).upper.estimate, "fewer than two"));
}

TEST_CASE("scores without error have an SEM of 0 without limits", "[edge]") {
  const auto squares = two_way(table_of({{1.0, 1.0}, {2.0, 2.0}, {3.0, 3.0}}));
  REQUIRE(squares);
  const Sem result = sem(*squares);
  CHECK(*result.consistency.estimate == 0.0);
  CHECK(says(result.consistency.lower, "no error"));
  CHECK(says(result.agreement.upper, "no error"));
  CHECK(*mdc95(result.agreement.estimate) == 0.0);
  CHECK(says(sem_from_icc(table_of({{1.0, 1.0}, {1.0, 1.0}})), "all scores are the same"));
}

TEST_CASE("a rater component below zero is used as zero, with a flag", "[edge]") {
  const auto squares = two_way(table_of({{1.0, 2.0}, {2.0, 1.0}, {4.0, 5.0}, {5.0, 4.0}}));
  REQUIRE(squares);
  CHECK(*components_anova(*squares).rater < 0.0);
  CHECK(sem(*squares).rater_set_to_zero);
  CHECK(*sem(*squares).agreement.estimate == *sem(*squares).consistency.estimate);
}

TEST_CASE("a ratio by case needs something to divide by, its interval two cases", "[edge]") {
  const std::vector<double> zero{0, 0}, one{1, 0}, n{2, 0};
  CHECK(says(ratio_by_case(zero, zero).estimate, "nothing to divide"));
  CHECK(*ratio_by_case(one, n).estimate == 0.5);
  CHECK(says(ratio_by_case(one, n).lower, "fewer than two cases"));
}

TEST_CASE("a scale tells its level, and refuses what contradicts it", "[edge]") {
  CHECK(make_scale({"0", "1", "2"})->level == Level::ordinal);
  CHECK(make_scale({"0", "0.5", "1"})->level == Level::interval);
  CHECK(make_scale({"red", "green"})->level == Level::nominal);
  CHECK_FALSE(make_scale({"0", "1", "1+"}, Level::ordinal)->numeric);
  CHECK(make_scale({"0", "1", "1+"}, Level::ordinal)->values[2] == 2.0);
  CHECK(refused(make_scale({}), "no category"));
  CHECK(refused(make_scale({"a", "b", "a"}), "'a' stands twice"));
  CHECK(refused(make_scale({"1", "1.0"}), "one way"));
  CHECK(refused(make_scale({"0", "1", "1+"}, Level::interval), "1+"));
}

TEST_CASE("statistics are asked for by name", "[edge]") {
  const auto set = statistics_named("icc,kappa");
  REQUIRE(set);
  CHECK(*set == StatisticSet{Statistic::icc, Statistic::kappa});
  CHECK(refused(statistics_named("icc,kapa"), "'kappa'"));
  CHECK(refused(statistics_named("xyzzy"), "there are icc"));
  CHECK(refused(statistics_named(""), "no statistic"));
  for (const Statistic statistic : all_statistics())
    CHECK(*statistics_named(name_of(statistic)) == StatisticSet{statistic});
}

TEST_CASE("a matrix that contradicts itself is refused", "[edge]") {
  CHECK(agreement::agreement(two_by_two()));
  auto no_rater = two_by_two();
  no_rater.raters.clear();
  CHECK(refused(agreement::agreement(no_rater), "no rater"));
  auto twice = two_by_two();
  twice.cases = {"1", "1"};
  CHECK(refused(agreement::agreement(twice), "case '1' stands twice"));
  auto short_of_cells = two_by_two();
  short_of_cells.cells.pop_back();
  CHECK(refused(agreement::agreement(short_of_cells), "3 cells"));
  auto unknown = two_by_two();
  unknown.at(0, 1, 1).category = 2;
  CHECK(refused(agreement::agreement(unknown), "category number 3"));
  auto sum_given = two_by_two();
  sum_given.items = {"sit", "total"};
  sum_given.resize_cells();
  CHECK(refused(agreement::agreement(sum_given), "item 'total'"));
  auto no_such_key = two_by_two();
  no_such_key.key = 2;
  CHECK(refused(agreement::agreement(no_such_key), "the key is rater number 3"));
  CHECK(refused(agreement::agreement(two_by_two(), {.confidence = 1.0}), "confidence"));
  CHECK(refused(agreement::agreement(two_by_two(), {.pairs = PairChoice::with_key}), "no rater is the key"));
}

TEST_CASE("what does not go with the level says so", "[edge]") {
  auto m = two_by_two();
  m.cases = {"1", "2", "3"};
  m.categories = {"walks", "stands"};
  m.raters = {"ann", "ben", "key"};
  m.key = 2;
  m.resize_cells();
  for (std::size_t i = 0; i < m.cells.size(); ++i)
    m.cells[i].category = static_cast<std::int32_t>(i * i % 3 % 2);
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  const Measure& nominal = result->measures[0];
  CHECK(says(nominal.icc[0].icc.estimate, "no distances"));
  CHECK(says(nominal.components_anova.rater, "no distances"));
  CHECK(says(nominal.mdc95.agreement, "no distances"));
  CHECK(says(nominal.pairs[0].within_one.estimate, "no order"));
  CHECK(says(nominal.pairs[0].kappa.linear.kappa.estimate, "no order"));
  CHECK(says(nominal.pairs[0].bias.bias.estimate, "no distances"));
  CHECK(nominal.pairs[0].exact.estimate.defined());
  CHECK(says(nominal.disagreement.mean_signed.estimate, "no order"));
  CHECK(nominal.disagreement.exact.estimate.defined());
  CHECK(nominal.disagreement.differences.empty());
  CHECK(nominal.disagreement.key_by_score.size() == 4);
  CHECK(says(result->across_items.bias.estimate, "no order"));
  CHECK(says(nominal.icc_reml.components.case_, "no distances"));
  CHECK(says(nominal.kendall_w.w, "no order"));
  CHECK(says(nominal.krippendorff_alpha.ordinal.estimate, "no order"));
  CHECK(says(nominal.gwet.quadratic.estimate.estimate, "no order"));
  CHECK(nominal.krippendorff_alpha.nominal.estimate.defined());
}

TEST_CASE("without a key there is no disagreement, and nothing is computed that was not asked for",
          "[edge]") {
  const auto result = agreement::agreement(two_by_two(), {.only = {Statistic::icc, Statistic::disagreement}});
  REQUIRE(result);
  CHECK(says(result->measures[0].disagreement.exact.estimate, "no reference key"));
  CHECK(says(result->across_items.exact.estimate, "not asked for"));
  CHECK(says(result->measures[0].components_anova.case_, "not asked for"));
  CHECK(result->measures[0].pairs.empty());
}

TEST_CASE("scores on a continuous scale have no kappa", "[edge]") {
  auto m = two_by_two();
  m.cases.clear();
  m.categories.clear();
  for (int i = 0; i < 260; ++i) m.categories.push_back(std::to_string(i) + ".5");
  for (int i = 0; i < 130; ++i) m.cases.push_back(std::to_string(i));
  m.resize_cells();
  for (std::size_t i = 0; i < m.cells.size(); ++i) m.cells[i].category = static_cast<std::int32_t>(i);
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  CHECK(says(result->measures[0].pairs[0].kappa.none.kappa.estimate, "continuous"));
  CHECK(says(result->measures[0].pairs[0].prevalence_index, "continuous"));
  CHECK(*result->measures[0].pairs[0].bias.bias.estimate == -130.0);
}
