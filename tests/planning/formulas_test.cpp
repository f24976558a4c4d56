#include <cmath>
#include <string>

#include <catch2/catch.hpp>

#include "planning/formulas.hpp"
#include "support/reference.hpp"

using namespace evenhand;
using namespace evenhand::planning;

namespace {

double computed(const test::ExpectedRow& row) {
  const auto number = [&](const char* name) { return std::stod(row.argument(name)); };
  const auto raters = static_cast<std::size_t>(number("raters"));
  if (row.argument("method") == "walter1998")
    return *walter_cases(number("rho0"), number("rho1"), raters, number("alpha"), number("power"));
  REQUIRE(row.argument("method") == "bonett2002");
  const auto bonett = *bonett_cases(number("rho"), raters, number("width"), 1.0 - number("alpha"));
  return row.argument("correction") == "yes" ? bonett.total() : bonett.cases;
}

}  // namespace

TEST_CASE("numbers of cases by formula agree with the reference values", "[reference]") {
  const auto rows = test::expected_rows({"sample_size"});
  REQUIRE(rows.size() == 92);
  for (const auto& row : rows) {
    const agreement::Value value = computed(row);
    INFO(test::describe(row, value));
    CHECK(test::matches(row, value));
  }
}

TEST_CASE("Bonett's printed example: an ICC of .85, four raters and a width of .2 take 20 cases",
          "[reference]") {
  // Bonett 2002, Statistics in Medicine 21:1331-1335: 19.2, rounded up to 20.
  CHECK(bonett_cases(0.85, 4, 0.2)->total() == Approx(19.2).margin(0.05));
}

TEST_CASE("Bonett's addition is for two raters and an ICC of .7 and above", "[edge]") {
  CHECK(bonett_cases(0.7, 2, 0.2)->added == Approx(3.5));
  CHECK(bonett_cases(0.69, 2, 0.2)->added == 0.0);
  CHECK(bonett_cases(0.9, 3, 0.2)->added == 0.0);
}

TEST_CASE("Donner and Eliasziw's numbers, recomputed from the published formula", "[reference]") {
  // Two-sided alpha .05, power .80; the formula of the 1992 paper evaluated apart from this program
  // (its printed tables were not at hand).
  struct Row {
    double null, expected, at[5];  // share of yes .1, .2, .3, .4, .5
  };
  for (const Row& row :
       {Row{.4, .6, {404.0, 240.5, 190.5, 170.4, 164.8}}, Row{.4, .7, {179.6, 106.9, 84.6, 75.7, 73.3}},
        Row{.4, .8, {101.0, 60.1, 47.6, 42.6, 41.2}}, Row{.6, .8, {334.9, 191.8, 148.0, 130.5, 125.6}},
        Row{.6, .9, {148.8, 85.2, 65.8, 58.0, 55.8}}, Row{.7, .9, {272.4, 154.6, 118.5, 104.1, 100.1}}})
    for (int i = 0; i < 5; ++i)
      CHECK(*donner_cases(row.null, row.expected, 0.1 * (i + 1)) == Approx(row.at[i]).margin(0.051));
}

TEST_CASE("Cantor's numbers, recomputed from the published formula", "[reference]") {
  // One-sided alpha .05, power .80; evaluated apart from this program (the printed table was not at hand).
  CHECK(*cantor_cases(0.0, 0.4, .5, .5) == Approx(36.5).margin(.051));
  CHECK(*cantor_cases(0.4, 0.6, .5, .5) == Approx(118.9).margin(.051));
  CHECK(*cantor_cases(0.4, 0.7, .5, .5) == Approx(49.4).margin(.051));
  CHECK(*cantor_cases(0.6, 0.8, .5, .5) == Approx(82.9).margin(.051));
  CHECK(*cantor_cases(0.6, 0.9, .5, .5) == Approx(31.5).margin(.051));
  CHECK(*cantor_cases(0.4, 0.6, .3, .3) == Approx(140.6).margin(.051));
  CHECK(*cantor_cases(0.6, 0.8, .3, .3) == Approx(99.5).margin(.051));
  const double q[][4] = {
      {.1, 2.205, 1.835, 1.043}, {.2, 1.272, 1.018, .576}, {.3, .986, .768, .433}, {.5, .840, .640, .360}};
  for (const auto& row : q)
    for (int i = 0; i < 3; ++i)
      CHECK(*kappa_unit_variance(0.4 + 0.2 * i, row[0], row[0]) == Approx(row[i + 1]).margin(.00051));
}

TEST_CASE("null and expected kappa are not exchangeable: a public example that swaps them is told apart",
          "[reference]") {
  // The documentation of a public R package answers "null .7, truly .85, both say yes for half" with 96; its
  // arguments are (true, null), so 96 belongs to the opposite question.
  CHECK(std::ceil(*cantor_cases(0.85, 0.7, .5, .5)) == 96);
  CHECK(std::ceil(*cantor_cases(0.7, 0.85, .5, .5)) == 117);
}

TEST_CASE(
    "with both saying yes for half, kappa's variance is 1 - kappa^2, and 1 at chance level for any shares",
    "[property]") {
  for (const double kappa : {0.0, .2, .5, .9})
    CHECK(*kappa_unit_variance(kappa, .5, .5) == Approx(1.0 - kappa * kappa));
  for (const double yes : {.05, .3, .8}) CHECK(*kappa_unit_variance(0.0, yes, yes) == Approx(1.0));
}

TEST_CASE("questions without an answer are refused with the number at fault", "[edge]") {
  CHECK(walter_cases(.8, .8, 2).error().message.find("0.8") != std::string::npos);
  CHECK_FALSE(walter_cases(.6, .8, 1));
  CHECK_FALSE(walter_cases(.6, .8, 3, .05, .04));
  CHECK_FALSE(bonett_cases(1.0, 2, .2));
  CHECK_FALSE(bonett_cases(.8, 2, 0.0));
  CHECK_FALSE(donner_cases(.4, .4, .3));
  CHECK_FALSE(donner_cases(.4, .6, 0.0));
  CHECK_FALSE(donner_cases(1.0, .6, .3));
  CHECK(cantor_cases(.4, .95, .3, .6).error().message.find("these allow") != std::string::npos);
  CHECK_FALSE(cantor_cases(.4, .4, .3, .3));
}
