#include "planning/mdc_model.hpp"

#include <algorithm>
#include <cmath>

#include "agreement/sem.hpp"
#include "base/random.hpp"
#include "stats/distributions.hpp"

namespace evenhand::planning {
namespace {

constexpr double mdc_by_sem = 1.959963984540054 * 1.4142135623730951;

}  // namespace

Result<void> check(const MdcExpected& expected) {
  if (!(expected.sem > 0.0) || !std::isfinite(expected.sem))
    return fail(Errc::invalid, "the expected SEM is {}: it lies above 0", expected.sem);
  if (!(expected.rater_share >= 0.0 && expected.rater_share < 1.0))
    return fail(Errc::invalid, "the raters' share of the error is {}: it lies between 0 and 1",
                expected.rater_share);
  return {};
}

Achieved mdc_achieved(const MdcExpected& expected, std::size_t cases, std::size_t raters, const Goal& goal,
                      const Simulation& simulation) {
  const double n = static_cast<double>(cases), k = static_cast<double>(raters);
  const double variance = expected.sem * expected.sem;
  const double of_raters = variance * expected.rater_share, rest = variance - of_raters;
  const double rater_df = k - 1.0, rest_df = (n - 1.0) * (k - 1.0);
  const Study study = [&](std::size_t replicate) {
    base::Random random(simulation.seed, replicate);
    // The rest first: its quantile moves little as cases are added, and the raters' draws stay.
    const double at = random.uniform();
    double raters_square = 0.0;
    for (std::size_t i = 1; i < raters; ++i) {
      const double z = random.normal();
      raters_square += z * z;
    }
    const auto quantile = stats::chi_square_quantile(std::clamp(at, 1e-9, 1.0 - 1e-9), rest_df);
    if (!quantile) return agreement::Estimate::undefined("no such quantile");
    const double residual = rest * *quantile / rest_df;
    const double column = (rest + n * of_raters) * raters_square / rater_df;
    const auto sem = agreement::sem({.rows = cases,
                                     .columns = raters,
                                     .row = 0.0,
                                     .column = column,
                                     .residual = residual,
                                     .within = (column * rater_df + residual * rest_df) / (n * (k - 1.0))},
                                    simulation.confidence);
    agreement::Estimate mdc = sem.agreement;
    for (auto* value : {&mdc.estimate, &mdc.lower, &mdc.upper})
      if (*value) *value = **value * mdc_by_sem;
    return mdc;
  };
  Achieved achieved = repeat(study, expected.sem * mdc_by_sem, goal, simulation);
  achieved.cases = cases;
  achieved.raters = raters;
  return achieved;
}

}  // namespace evenhand::planning
