// What joint and marginal maximum likelihood make of severities that are known, since the scores were drawn
// from them. A small slice runs always; `severity_test "[bias]"` prints the table of the long study.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "data.hpp"
#include "severity/severity.hpp"

using namespace evenhand;
using severity::Estimator;
using severity::Model;

namespace {

struct Study {
  test::Sizes sizes;
  int replications = 0;
};

/// Of the severities over all replications in which both estimators have one for every rater.
struct Recovery {
  double slope = 0.0;        ///< regression of estimated on true severity: 1 without bias
  double slope_error = 0.0;  ///< Monte Carlo standard error of it
  double rmse = 0.0;
  double coverage = 0.0;  ///< of estimate -/+ 1.96 SE
};

struct Both {
  Recovery joint, marginal;
  int used = 0;
};

class Tally {
 public:
  void add(const test::Truth& truth, const severity::Severity& fit) {
    double products = 0.0, squares = 0.0;
    for (std::size_t r = 0; r < truth.raters.size(); ++r) {
      const double estimate = *fit.raters[r].severity.estimate, error = estimate - truth.raters[r];
      products += estimate * truth.raters[r];
      squares += truth.raters[r] * truth.raters[r];
      errors_ += error * error;
      covered_ += std::abs(error) <= 1.96 * *fit.raters[r].severity.se ? 1.0 : 0.0;
      count_ += 1.0;
    }
    products_.push_back(products);
    squares_.push_back(squares);
  }
  Recovery result() const {
    double products = 0.0, squares = 0.0, variance = 0.0;
    for (std::size_t i = 0; i < products_.size(); ++i) products += products_[i], squares += squares_[i];
    const double slope = products / squares;
    for (std::size_t i = 0; i < products_.size(); ++i)
      variance += std::pow(products_[i] - slope * squares_[i], 2);
    return {slope, std::sqrt(variance) / squares, std::sqrt(errors_ / count_), covered_ / count_};
  }

 private:
  std::vector<double> products_, squares_;
  double errors_ = 0.0, covered_ = 0.0, count_ = 0.0;
};

Both recovery_of(const Study& study, std::uint64_t seed) {
  Tally joint, marginal;
  Both both;
  for (int i = 0; i < study.replications; ++i) {
    base::Random random(seed, static_cast<std::uint64_t>(i));
    const auto truth = test::truth_of(study.sizes, random);
    const auto ratings = test::ratings_from(study.sizes.cases, study.sizes.raters, study.sizes.items,
                                            study.sizes.steps + 1, test::scores_from(truth, random));
    const auto a =
        severity::severity(ratings, {.model = Model::partial_credit, .estimator = Estimator::joint});
    const auto b =
        severity::severity(ratings, {.model = Model::partial_credit, .estimator = Estimator::marginal});
    const auto usable = [](const severity::Severity& fit) {
      return fit.convergence.outcome == severity::Outcome::converged && fit.linkage.linked &&
             std::ranges::all_of(fit.raters, [](const auto& r) {
               return r.extreme == severity::Extreme::no && r.severity.estimate.defined();
             });
    };
    if (!usable(a) || !usable(b)) continue;
    joint.add(truth, a);
    marginal.add(truth, b);
    ++both.used;
  }
  both.joint = joint.result();
  both.marginal = marginal.result();
  return both;
}

}  // namespace

TEST_CASE("marginal severities are right on average where joint ones are spread too far", "[property]") {
  const Both small = recovery_of({{.cases = 8, .raters = 5, .items = 1, .steps = 4}, 150}, 2026);
  INFO("joint " << small.joint.slope << " marginal " << small.marginal.slope << " -/+ "
                << small.marginal.slope_error);
  REQUIRE(small.used > 100);
  CHECK(small.joint.slope > small.marginal.slope + 0.1);
  CHECK(small.marginal.rmse < small.joint.rmse);
  CHECK(small.marginal.coverage > small.joint.coverage);
}

TEST_CASE("known severities and thresholds come back within Monte Carlo error", "[property]") {
  const Both large = recovery_of({{.cases = 40, .raters = 6, .items = 4, .steps = 3}, 12}, 11);
  REQUIRE(large.used == 12);
  CHECK(large.marginal.slope == Approx(1.0).margin(3.0 * large.marginal.slope_error));
  CHECK(large.marginal.coverage > 0.85);

  base::Random random(5, 5);
  const auto truth = test::truth_of({.cases = 300, .raters = 6, .items = 3, .steps = 3}, random);
  const auto fit = severity::severity(test::ratings_from(300, 6, 3, 4, test::scores_from(truth, random)));
  const auto close = [](const severity::Measured& m, double true_value) {
    CHECK(std::abs(*m.estimate - true_value) < 4.0 * *m.se);
  };
  for (std::size_t r = 0; r < 6; ++r) close(fit.raters[r].severity, truth.raters[r]);
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t h = 0; h < 3; ++h) close(fit.items[i].thresholds[h].threshold, truth.thresholds[i][h]);
  close(fit.case_sd, 1.0);
}

TEST_CASE("the long study of bias prints its table", "[.slow][bias]") {
  fmt::print("{:>5} {:>6} {:>5} {:>6}  {:>25}  {:>25}  {:>11}  {:>11}\n", "cases", "raters", "items",
             "levels", "slope joint", "slope marginal", "rmse j / m", "cover j / m");
  for (const auto& [sizes, replications] :
       {std::pair{test::Sizes{.cases = 20, .raters = 10, .items = 14}, 200},
        {test::Sizes{.cases = 8, .raters = 5}, 2000},
        {test::Sizes{.cases = 8, .raters = 5, .items = 1, .steps = 1}, 2000},
        {test::Sizes{.cases = 40, .raters = 5}, 1000},
        {test::Sizes{.cases = 20, .raters = 2, .items = 3}, 1000},
        {test::Sizes{.cases = 100, .raters = 2, .items = 1, .steps = 1}, 1000}}) {
    const Both b = recovery_of({sizes, replications}, 99);
    fmt::print(
        "{:>5} {:>6} {:>5} {:>6}  {:>8.3f} -/+ {:.3f} (n {:>4})  {:>8.3f} -/+ {:.3f} {:>8}  {:.3f} {:.3f}  "
        "{:.3f} {:.3f}\n",
        sizes.cases, sizes.raters, sizes.items, sizes.steps + 1, b.joint.slope, b.joint.slope_error, b.used,
        b.marginal.slope, b.marginal.slope_error, "", b.joint.rmse, b.marginal.rmse, b.joint.coverage,
        b.marginal.coverage);
    CHECK(b.used > 0);
  }
}
