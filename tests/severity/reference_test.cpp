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

/// The value that a row of common thresholds is about. Rows are severity_WHAT or severity_WHAT_se.
Value value_for(const test::ExpectedRow& row, const severity::Ratings& ratings, const severity::Severity& fit) {
  std::string what = row.statistic.substr(std::string("severity_").size());
  const std::string level = row.argument("level");
  if (what == "loglik") return fit.convergence.log_likelihood;
  const bool se = what.ends_with("_se");
  if (se) what.resize(what.size() - 3);
  const auto pick = [&](const severity::Measured& m) { return se ? m.se : m.estimate; };
  if (what == "rater") return pick(fit.raters[place_of(ratings.raters(), level)].severity);
  if (what == "case") return pick(fit.cases[place_of(ratings.cases(), level)].location);
  if (what == "item") return pick(fit.items[place_of(ratings.items(), level)].location);
  REQUIRE(what == "threshold");
  return pick(fit.thresholds.at(std::stoul(level) - 1).threshold);
}

}  // namespace

TEST_CASE("joint estimates of common thresholds give the reference values", "[reference]") {
  std::size_t checked = 0;
  std::map<std::string, std::pair<severity::Ratings, severity::Severity>> fits;
  for (const auto& row : test::expected_rows({"severity_"})) {
    if (row.argument("family") != "acat") continue;
    if (!fits.contains(row.dataset)) {
      const auto ratings = test::ratings_of(row.dataset);
      const auto fit = severity::severity(ratings, {.model = severity::Model::common_thresholds,
                                                    .estimator = severity::Estimator::joint});
      REQUIRE(fit.convergence.outcome == severity::Outcome::converged);
      fits.emplace(row.dataset, std::pair(ratings, fit));
    }
    const auto& [ratings, fit] = fits.at(row.dataset);
    const Value value = value_for(row, ratings, fit);
    INFO(test::describe(row, value));
    CHECK(test::matches(row, value));
    ++checked;
  }
  CHECK(checked == 68);
}
