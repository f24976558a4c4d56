#include "report/agreement_json.hpp"

#include <sstream>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "agreement/agreement.hpp"
#include "base/random.hpp"

using namespace evenhand;
using nlohmann::json;

namespace {

/// Shrout & Fleiss 1979, Psychological Bulletin 86:420-428, table 2: 6 targets by 4 judges.
agreement::ScoreMatrix shrout_fleiss() {
  const int scores[6][4] = {{9, 2, 5, 8}, {6, 1, 3, 2},  {8, 4, 6, 8},
                            {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}};
  agreement::ScoreMatrix m;
  m.raters = {"1", "2", "3", "4"};
  m.cases = {"1", "2", "3", "4", "5", "6"};
  m.items = {""};
  for (int category = 1; category <= 10; ++category) m.categories.push_back(std::to_string(category));
  m.resize_cells();
  for (std::size_t c = 0; c < 6; ++c)
    for (std::size_t r = 0; r < 4; ++r) m.at(0, r, c).category = scores[c][r] - 1;
  return m;
}

report::AgreementRound round_of(const agreement::Agreement& result, const agreement::ScoreMatrix& m,
                                const std::string& name = "") {
  return {
      .agreement = result, .raters = m.raters, .input = {.round = name, .statuses = {}, .fingerprint = "f"}};
}

json as_json(const agreement::ScoreMatrix& m, agreement::StatisticSet only = agreement::StatisticSet::all()) {
  const auto result = agreement::Agreement::of(m, {.level = agreement::Level::interval, .only = only});
  REQUIRE(result);
  std::ostringstream out;
  report::write_agreement_json(out, round_of(*result, m), only);
  return json::parse(out.str());
}

}  // namespace

TEST_CASE("Shrout and Fleiss 1979 comes out as their table 4, limits included", "[reference]") {
  const json j = as_json(shrout_fleiss());
  const auto& icc = j.at("measures").at(0).at("icc");
  // Estimates: table 4. Limits: recomputed from their formulas; those of ICC(3,1) and ICC(2,1)
  // are printed on their page 424.
  const struct {
    const char* form;
    double estimate, lower, upper;
  } rows[] = {{"ICC(1,1)", .17, -.13, .72}, {"ICC(2,1)", .29, .02, .76}, {"ICC(3,1)", .71, .34, .95},
              {"ICC(1,k)", .44, -.88, .91}, {"ICC(2,k)", .62, .07, .93}, {"ICC(3,k)", .91, .68, .99}};
  REQUIRE(icc.size() == 6);
  for (std::size_t i = 0; i < 6; ++i) {
    INFO(rows[i].form);
    CHECK(icc[i].at("form") == rows[i].form);
    CHECK(icc[i].at("estimate").get<double>() == Approx(rows[i].estimate).margin(.0055));
    CHECK(icc[i].at("lower").get<double>() == Approx(rows[i].lower).margin(.0055));
    CHECK(icc[i].at("upper").get<double>() == Approx(rows[i].upper).margin(.0055));
  }
}

TEST_CASE("every key of the interface is there, with a reason where there is no value") {
  const json j = as_json(shrout_fleiss());
  const auto& m = j.at("measures").at(0);
  for (const char* key :
       {"item", "used", "icc", "components", "icc_reml", "sem", "mdc95", "fleiss_kappa", "conger_kappa",
        "light_kappa", "krippendorff_alpha", "gwet", "kendall_w", "pairs", "disagreement"}) {
    INFO(key);
    CHECK(m.contains(key));
  }
  CHECK(m.at("item").is_null());
  CHECK(m.at("pairs").size() == 6);
  for (const char* key :
       {"raters", "n", "exact", "within_one", "kappa", "prevalence_index", "bias_index", "gwet",
        "brennan_prediger", "bias", "limits_of_agreement", "concordance", "marginal_homogeneity"}) {
    INFO(key);
    CHECK(m.at("pairs").at(0).contains(key));
  }
  const auto& exact = m.at("disagreement").at("exact");
  CHECK(exact.at("estimate").is_null());
  CHECK_FALSE(exact.at("undefined").get<std::string>().empty());
  CHECK(j.at("input").at("key").is_null());
  CHECK(j.at("input").at("scores") == 24);
}

TEST_CASE("numbers are read back as the same doubles") {
  const auto m = shrout_fleiss();
  const auto result = agreement::Agreement::of(m, {.level = agreement::Level::interval});
  REQUIRE(result);
  const json j = as_json(m);
  CHECK(j.at("measures").at(0).at("icc").at(1).at("estimate").get<double>() ==
        *result->measure(0).icc[1].icc.estimate);
}

TEST_CASE("what was not asked for is left out") {
  const json j = as_json(shrout_fleiss(), {agreement::Statistic::kappa});
  const auto& m = j.at("measures").at(0);
  CHECK_FALSE(m.contains("icc"));
  CHECK_FALSE(j.contains("across_items"));
  CHECK(m.at("pairs").at(0).contains("kappa"));
  CHECK_FALSE(m.at("pairs").at(0).contains("bias"));
}

TEST_CASE("the flat table holds the same numbers, one a row") {
  const auto m = shrout_fleiss();
  const auto only = agreement::StatisticSet{agreement::Statistic::icc};
  const auto result = agreement::Agreement::of(m, {.level = agreement::Level::interval, .only = only});
  REQUIRE(result);
  std::ostringstream out;
  const std::vector rounds{round_of(*result, m, "2025"), round_of(*result, m, "2026, spring")};
  report::write_agreement_csv(out, rounds, {}, only);
  const std::string text = out.str();
  CHECK(text.starts_with("round,measure,raters,statistic,value,undefined\n2025,,,used.raters,4,\n"));
  CHECK(text.find("2025,,,\"icc.ICC(2,1).estimate\",0.289") != std::string::npos);
  CHECK(text.find("\"2026, spring\",,,\"icc.ICC(2,1).estimate\",0.289") != std::string::npos);
  CHECK(text.find("round,measure", 10) == std::string::npos);
}

TEST_CASE("severity, repeats and change are in the flat table and in the JSON") {
  const auto m = shrout_fleiss();
  const auto result = agreement::Agreement::of(m, {.only = {agreement::Statistic::severity}});
  REQUIRE(result);
  auto round = round_of(*result, m, "r");
  round.severity = tl::unexpected(Error{Errc::invalid, "too little"});
  round.repeats.emplace();
  const report::RoundStep step{"r", "s", tl::unexpected(Error{Errc::not_found, "no case"}),
                               tl::unexpected(Error{Errc::not_found, "no case"})};
  const agreement::StatisticSet only{agreement::Statistic::severity};
  std::ostringstream table, object;
  report::write_agreement_csv(table, std::vector{round}, std::vector{step}, only);
  CHECK(table.str().find("r,intra_rater,,group.sem_apart.estimate,,no case was scored twice\n") !=
        std::string::npos);
  CHECK(table.str().find("r,severity,,undefined,,too little\n") != std::string::npos);
  CHECK(table.str().find("r | s,change,,undefined,,no case\n") != std::string::npos);
  report::write_agreement_json(object, round, only);
  const json j = json::parse(object.str());
  CHECK(j.at("severity").at("undefined") == "too little");
  CHECK(j.at("intra_rater").at("group").at("learning").at("undefined") == "no case was scored twice");
}

TEST_CASE("any number of threads writes the same bytes", "[property]") {
  base::Random random(7);
  agreement::ScoreMatrix m;
  m.raters = {"key"};
  for (int r = 0; r < 40; ++r) m.raters.push_back("r" + std::to_string(r));
  for (int c = 0; c < 12; ++c) m.cases.push_back("c" + std::to_string(c));
  m.items = {"1", "2", "3"};
  m.categories = {"0", "0.1", "0.3", "2"};  // sums in another order differ in the last digit
  m.key = 0;
  m.resize_cells();
  for (auto& cell : m.cells)
    cell.category = random.chance(.1) ? -1 : static_cast<std::int32_t>(random.index(4));
  const auto text = [&](std::size_t threads) {
    const auto only = agreement::StatisticSet::all();
    const auto result = agreement::Agreement::of(
        m, {.pairs = agreement::PairChoice::all, .resamples = 300, .threads = threads});
    REQUIRE(result);
    std::ostringstream out;
    report::write_agreement_json(out, round_of(*result, m), only, threads);
    return out.str();
  };
  const std::string one = text(1);
  CHECK(json::parse(one).at("measures").at(0).at("pairs").size() == 820);
  CHECK((one == text(3)));
  CHECK((one == text(8)));
}

TEST_CASE("limits by case stand in the JSON where they are offered, of a measure and of its pairs") {
  agreement::ScoreMatrix m;
  m.raters = {"a", "b"};
  m.categories = {"0", "1", "2", "3", "4"};
  m.items = {""};
  for (int c = 0; c < 12; ++c) m.cases.push_back(std::to_string(c));
  m.resize_cells();
  for (std::size_t c = 0; c < 12; ++c) {
    m.at(0, 0, c).category = c < 8 ? 4 : static_cast<std::int32_t>(c - 8);
    m.at(0, 1, c).category = c < 7 ? 4 : c < 9 ? 3 : static_cast<std::int32_t>(c - 8);
  }
  const auto made = agreement::Agreement::of(m, {.resamples = 0});
  REQUIRE(made);
  const auto only = agreement::StatisticSet::all();
  std::ostringstream out;
  report::write_agreement_json(out, round_of(*made, m), only);
  const auto whole = json::parse(out.str());
  const auto& measure = whole.at("measures").at(0);
  for (const char* name : {"icc_agreement", "icc_consistency", "sem_agreement", "sem_consistency"}) {
    const auto& one = measure.at("limits_by_case").at(name);
    CHECK(one.at("method") == "degrees of freedom told from the cases");
    CHECK(one.at("lower").get<double>() < one.at("upper").get<double>());
  }
  CHECK(measure.at("limits_by_case").at("icc_agreement").at("estimate") ==
        measure.at("icc").at(1).at("estimate"));  // ICC(2,1)
  const auto& pair = measure.at("pairs").at(0).at("limits_by_case");
  CHECK(pair.at("concordance").at("method") == "jackknife by case of Fisher's z");
  CHECK(pair.at("upper").at("method") == "jackknife by case");
}
