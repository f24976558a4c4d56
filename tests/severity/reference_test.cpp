#include <catch2/catch.hpp>

#include <algorithm>
#include <map>

#include "data.hpp"
#include "severity/severity.hpp"
#include "support/reference.hpp"

using namespace evenhand;
using agreement::Value;

namespace {

std::size_t place_of(const std::vector<std::string>& names, const std::string& name) {
  const auto found = std::ranges::find(names, name);
  REQUIRE(found != names.end());
  return static_cast<std::size_t>(found - names.begin());
}

/// The value that a row is about. Rows are severity_WHAT or severity_WHAT_se.
Value value_for(const test::ExpectedRow& row, const severity::Ratings& ratings,
                const severity::Severity& fit) {
  std::string what = row.statistic.substr(std::string("severity_").size());
  const std::string level = row.argument("level");
  if (what.ends_with("_infit") || what.ends_with("_outfit")) {
    const severity::Fit& of = what.starts_with("rater_")  ? fit.raters[place_of(ratings.raters(), level)].fit
                              : what.starts_with("case_") ? fit.cases[place_of(ratings.cases(), level)].fit
                                                          : fit.items[place_of(ratings.items(), level)].fit;
    return what.ends_with("_infit") ? of.infit : of.outfit;
  }
  if (what == "loglik") return fit.convergence.log_likelihood;
  const bool se = what.ends_with("_se");
  if (se) what.resize(what.size() - 3);
  const auto pick = [&](const severity::Measured& m) { return se ? m.se : m.estimate; };
  if (what == "rater") return pick(fit.raters[place_of(ratings.raters(), level)].severity);
  if (what == "case") return pick(fit.cases[place_of(ratings.cases(), level)].location);
  if (what == "item") return pick(fit.items[place_of(ratings.items(), level)].location);
  REQUIRE(what == "threshold");
  const std::string item = row.argument("item");
  if (!item.empty())
    return pick(fit.items[place_of(ratings.items(), item)].thresholds.at(std::stoul(level) - 1).threshold);
  return pick(fit.thresholds.at(std::stoul(level) - 1).threshold);
}

void check_rows(const std::vector<test::ExpectedRow>& rows, severity::Model model, std::size_t expected) {
  std::size_t checked = 0;
  std::map<std::string, std::pair<severity::Ratings, severity::Severity>> fits;
  for (const auto& row : rows) {
    if (!fits.contains(row.dataset)) {
      const auto ratings = test::ratings_of(row.dataset);
      const auto fit = severity::severity(ratings, {.model = model, .estimator = severity::Estimator::joint});
      REQUIRE(fit.convergence.outcome == severity::Outcome::converged);
      fits.emplace(row.dataset, std::pair(ratings, fit));
    }
    const auto& [ratings, fit] = fits.at(row.dataset);
    const Value value = value_for(row, ratings, fit);
    INFO(test::describe(row, value));
    CHECK(test::matches(row, value));
    ++checked;
  }
  CHECK(checked == expected);
}

}  // namespace

TEST_CASE("joint estimates of common thresholds give the reference values", "[reference]") {
  auto rows = test::expected_rows({"severity_"});
  std::erase_if(rows, [](const auto& row) { return row.argument("family") != "acat"; });
  check_rows(rows, severity::Model::common_thresholds, 68);
}

TEST_CASE("joint estimates of partial credit give the reference values", "[reference]") {
  check_rows(test::partial_credit_rows(), severity::Model::partial_credit, 266);
}

// Guilford JP (1954). Psychometric Methods, p. 282: three judges rate seven scientists on five traits, 1..9.
// The scores are from memory; the figures are a joint maximum likelihood fit of them by another program of
// our own (common thresholds), to the digits written down: severities less that of judge A, and infit.
TEST_CASE("three judges of a textbook differ as another computation has it", "[reference]") {
  const std::vector<std::vector<std::string>> given = {
      {"55353", "97585", "33371", "73133", "97785", "35351", "77555"},
      {"65463", "87572", "45366", "56455", "24323", "44642", "33554"},
      {"55573", "77575", "35555", "53331", "97777", "33353", "77757"}};
  std::vector<severity::Score> scores;
  for (std::uint32_t r = 0; r < 3; ++r)
    for (std::uint32_t c = 0; c < 7; ++c)
      for (std::uint32_t i = 0; i < 5; ++i)
        scores.push_back({c, r, i, static_cast<std::uint32_t>(given[r][c][i] - '1')});
  const auto fit = severity::severity(
      test::ratings_from(7, 3, 5, 9, scores),
      {.model = severity::Model::common_thresholds, .estimator = severity::Estimator::joint});
  REQUIRE(fit.convergence.outcome == severity::Outcome::converged);
  const double a = *fit.raters[0].severity.estimate;
  CHECK(*fit.raters[1].severity.estimate - a == Approx(0.245 - 0.040).margin(0.002));
  CHECK(*fit.raters[2].severity.estimate - a == Approx(-0.096 - 0.040).margin(0.002));
  CHECK(*fit.raters[0].fit.infit == Approx(0.85).margin(0.005));
  CHECK(*fit.raters[1].fit.infit == Approx(1.48).margin(0.005));
  CHECK(*fit.raters[2].fit.infit == Approx(0.67).margin(0.005));
  const double cases[] = {-.07, .66, -.26, -.48, .44, -.58, .29}, items[] = {-.28, -.15, .21, -.30, .52};
  for (std::size_t c = 0; c < 7; ++c)
    CHECK(*fit.cases[c].location.estimate == Approx(cases[c]).margin(0.006));
  for (std::size_t i = 0; i < 5; ++i)
    CHECK(*fit.items[i].location.estimate == Approx(items[i]).margin(0.006));
}
