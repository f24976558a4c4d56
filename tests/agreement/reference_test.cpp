// Published figures and values recomputed with general-purpose libraries; each row of
// tests/reference/expected.csv names its source, and a failing check prints it.
#include <cmath>

#include <catch2/catch.hpp>

#include "agreement/bias.hpp"
#include "agreement/components.hpp"
#include "agreement/icc.hpp"
#include "agreement/kappa.hpp"
#include "agreement/limits_of_agreement.hpp"
#include "agreement/percent.hpp"
#include "agreement/sem.hpp"
#include "stats/signed_rank.hpp"
#include "support/reference_rows.hpp"

using namespace evenhand;
using namespace evenhand::agreement;
using test::check_rows;
using test::cross_table;
using test::ends;
using test::ExpectedRow;
using test::pair_of;
using test::TwoRaters;
using test::weights_of;

namespace {

/// Where no number is given the normal quantile is exact (conventions of the reference values).
double z_of(const ExpectedRow& row) {
  const std::string z = row.argument("z");
  return z.empty() || z == "qnorm" ? 1.959963984540054 : std::stod(z);
}

Value percent_of(const ExpectedRow& row) {
  const TwoRaters pair = pair_of(row);
  const Proportion p = row.statistic.starts_with("percent_exact")
                           ? exact_agreement(pair.first, pair.second)
                           : agreement_within_one(pair.first, pair.second);
  if (ends(row, "_wilson_lower")) return p.lower;
  if (ends(row, "_wilson_upper")) return p.upper;
  if (ends(row, "_cp_lower")) return p.exact_lower;
  if (ends(row, "_cp_upper")) return p.exact_upper;
  return p.estimate;
}

Value kappa_of(const ExpectedRow& row) {
  const auto categories = test::parts_of(row.argument("categories"));
  const CrossTable table = cross_table(row, categories);
  if (row.statistic == "kappa_max") return maximum_kappa(table);
  const Kappa k = kappa(table, weights_of(row, categories));
  if (ends(row, "_lower")) return k.kappa.lower;
  if (ends(row, "_upper")) return k.kappa.upper;
  if (ends(row, "_se")) return k.se;
  if (ends(row, "_se0")) return k.se0;
  if (ends(row, "_z")) return k.z;
  return k.kappa.estimate;
}

Value icc_of(const ExpectedRow& row) {
  const RatingTable table = test::ratings_for(row);
  const char model = row.statistic[4];
  const bool single = row.statistic[6] == '1';
  const IccForm form = model == '1'   ? (single ? IccForm::icc_1_1 : IccForm::icc_1_k)
                       : model == '2' ? (single ? IccForm::icc_2_1 : IccForm::icc_2_k)
                                      : (single ? IccForm::icc_3_1 : IccForm::icc_3_k);
  const Icc result = row.argument("missing") == "oneway" ? icc_one_way(table) : icc(table, form);
  if (ends(row, "_f")) return result.f;
  if (ends(row, "_df1")) return result.df1;
  if (ends(row, "_df2")) return result.df2;
  if (ends(row, "_p")) return result.p;
  if (ends(row, "_lower")) return result.icc.lower;
  if (ends(row, "_upper")) return result.icc.upper;
  return result.icc.estimate;
}

Value value_of(const Result<double>& result) { return result ? Value(*result) : Value("no mean squares"); }

std::optional<Value> squares_of(const ExpectedRow& row) {
  if (!row.argument("design").empty())
    return std::nullopt;  // three-way designs come with the variance components
  const RatingTable table = test::ratings_for(row);
  if (row.statistic == "k0") return value_of(one_way(table).map([](const auto& s) { return s.k0; }));
  const auto squares = two_way(table);
  if (!squares) return std::nullopt;
  if (row.statistic == "ms_case") return Value(squares->row);
  if (row.statistic == "ms_rater") return Value(squares->column);
  if (row.statistic == "ms_residual") return Value(squares->residual);
  if (row.statistic == "ms_within") return Value(squares->within);
  return std::nullopt;
}

std::optional<Value> components_of(const ExpectedRow& row) {
  if (row.argument("method") != "anova") return std::nullopt;
  const RatingTable table = test::ratings_for(row).complete_cases();  // closed forms use complete cases
  if (row.argument("design") == "oneway") {
    const auto squares = one_way(table);
    REQUIRE(squares);
    const OneWayComponents c = components_one_way(*squares);
    return Value(row.statistic == "varcomp_case" ? c.case_ : c.within);
  }
  if (row.argument("design") != "case*rater") return std::nullopt;
  const auto squares = two_way(table);
  REQUIRE(squares);
  const Components c = components_anova(*squares);
  return row.statistic == "varcomp_case" ? c.case_ : row.statistic == "varcomp_rater" ? c.rater : c.residual;
}

Value sem_of(const ExpectedRow& row) {
  const RatingTable table = test::ratings_for(row).complete_cases();
  const std::string kind = row.argument("kind");
  const auto squares = two_way(table);
  REQUIRE(squares);
  if (kind == "sd_icc") return sem_from_icc(table);
  if (kind == "within") return sem_within(*squares);
  const Sem both = sem(*squares);
  const Value one = kind == "agreement" ? both.agreement.estimate : both.consistency.estimate;
  if (row.statistic == "sem") return one;
  return mdc95(one, z_of(row));
}

Value limits_of(const ExpectedRow& row) {
  const TwoRaters pair = pair_of(row);
  if (row.statistic.starts_with("ba_bias")) {
    const Bias b = bias(pair.first, pair.second);
    if (ends(row, "_lower")) return b.bias.lower;
    if (ends(row, "_upper")) return b.bias.upper;
    if (ends(row, "_p")) return b.p;
    return b.bias.estimate;
  }
  LimitsOfAgreementOptions options;
  options.z = z_of(row);
  if (row.argument("se") == "1986") options.error = LimitsError::approximate_1986;
  const LimitsOfAgreement l = limits_of_agreement(pair.first, pair.second, options);
  if (row.statistic == "ba_sd") return l.sd;
  const Estimate& limit = row.statistic.starts_with("ba_loa_lower") ? l.lower : l.upper;
  const std::string which = row.statistic.substr(std::string("ba_loa_lower").size());
  return which == "_lower" ? limit.lower : which == "_upper" ? limit.upper : limit.estimate;
}

Value wilcoxon_of(const ExpectedRow& row) {
  const TwoRaters pair = pair_of(row);
  std::vector<double> differences;
  for (std::size_t i = 0; i < pair.first.size(); ++i) differences.push_back(pair.first[i] - pair.second[i]);
  const auto method = row.argument("exact") == "yes"    ? stats::SignedRankMethod::exact
                      : row.argument("correct") == "no" ? stats::SignedRankMethod::normal
                                                        : stats::SignedRankMethod::normal_corrected;
  const auto ranks = stats::signed_rank(differences, method);
  if (!ranks) return Value("nothing to rank");
  if (row.statistic == "wilcoxon_v") return ranks->v;
  if (row.statistic == "wilcoxon_n") return static_cast<double>(ranks->n);
  return ranks->p;
}

}  // namespace

TEST_CASE("percent agreement gives the reference values", "[reference]") {
  CHECK(check_rows({"percent_"}, percent_of) == 118);
}

TEST_CASE("kappa gives the reference values", "[reference]") {
  CHECK(check_rows({"kappa"}, kappa_of) == 249);
}

TEST_CASE("prevalence and bias index give the reference values", "[reference]") {
  CHECK(check_rows({"prevalence_index", "bias_index"}, [](const ExpectedRow& row) -> std::optional<Value> {
          const CrossTable table = cross_table(row, test::parts_of(row.argument("categories")));
          return row.statistic == "bias_index" ? bias_index(table) : prevalence_index(table);
        }) == 10);
}

TEST_CASE("intraclass correlations give the reference values", "[reference]") {
  CHECK(check_rows({"icc_1", "icc_2", "icc_3"}, icc_of) == 590);
}

TEST_CASE("mean squares give the reference values", "[reference]") {
  CHECK(check_rows({"ms_", "k0"}, squares_of) == 50);
}

TEST_CASE("variance components give the reference values", "[reference]") {
  CHECK(check_rows({"varcomp_"}, components_of) == 54);
}

TEST_CASE("standard errors of measurement give the reference values", "[reference]") {
  CHECK(check_rows({"sem", "mdc95"}, sem_of) == 63);
}

TEST_CASE("bias and limits of agreement give the reference values", "[reference]") {
  CHECK(check_rows({"ba_"}, limits_of) == 167);
}

TEST_CASE("absolute errors give the reference values", "[reference]") {
  CHECK(check_rows({"bias_mae", "bias_rmse"}, [](const ExpectedRow& row) -> std::optional<Value> {
          const TwoRaters pair = pair_of(row);
          const Bias b = bias(pair.first, pair.second);
          return row.statistic == "bias_mae" ? b.mae : b.rmse;
        }) == 18);
}

TEST_CASE("signed-rank tests give the reference values", "[reference]") {
  CHECK(check_rows({"wilcoxon_"}, wilcoxon_of) == 45);
}
