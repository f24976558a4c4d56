// How long a fit takes. Hidden; `severity_test "[time]"` prints it, for scores drawn here or, with
// SEVERITY_SCORES=FILE, for a file as scripts/reference/severity_time.R writes it.
#include <catch2/catch.hpp>

#include <chrono>
#include <cstdlib>
#include <ctime>

#include <fmt/core.h>

#include "data.hpp"
#include "severity/severity.hpp"

using namespace evenhand;
using severity::Estimator;

namespace {

severity::Ratings scores_to_time() {
  if (const char* path = std::getenv("SEVERITY_SCORES")) return test::ratings_in(path);
  base::Random random(14, 40);
  const auto truth = test::truth_of({.cases = 40, .raters = 300, .items = 14}, random);
  return test::ratings_from(40, 300, 14, 5, test::scores_from(truth, random));
}

}  // namespace

TEST_CASE("a fit takes the time it prints", "[.slow][time]") {
  const severity::Ratings ratings = scores_to_time();
  for (const auto estimator : {Estimator::joint, Estimator::marginal}) {
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t processor = std::clock();
    const auto fit = severity::severity(ratings, {.estimator = estimator});
    const double processor_seconds = static_cast<double>(std::clock() - processor) / CLOCKS_PER_SEC;
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    fmt::print(
        "{} {} scores: {:.3f} s elapsed, {:.3f} s processor; {} iterations, gradient {:.1e}, log likelihood "
        "{:.8f}\n",
        estimator == Estimator::joint ? "joint" : "marginal", fit.used, took.count(), processor_seconds,
        fit.convergence.iterations, fit.convergence.gradient_norm, fit.convergence.log_likelihood);
    CHECK(fit.convergence.outcome == severity::Outcome::converged);
  }
}
