#include "planning/icc_model.hpp"

#include <cmath>
#include <vector>

#include "agreement/icc.hpp"
#include "base/random.hpp"
#include "stats/mean_squares.hpp"

namespace evenhand::planning {
namespace {

/// The part in [0, most] that carries `wanted` of the scores' variance; what a part carries grows with it.
double part_carrying(double wanted, double most, const CutNormal& scale) {
  double low = 0.0, high = most;
  for (int step = 0; step < 50; ++step) {
    const double part = (low + high) / 2.0;
    (scale.variance_of_part(part) < wanted ? low : high) = part;
  }
  return (low + high) / 2.0;
}

/// Scores row by row, a row a case.
std::vector<double> scores_of(const IccModel& model, std::size_t cases, std::size_t raters,
                              std::uint64_t seed, std::size_t replicate) {
  base::Random case_draws(seed, 3 * replicate), rater_draws(seed, 3 * replicate + 1),
      rest_draws(seed, 3 * replicate + 2);
  std::vector<double> rater(raters), scores;
  for (double& r : rater) r = rater_draws.normal(0.0, model.rater_sd);
  scores.reserve(cases * raters);
  for (std::size_t i = 0; i < cases; ++i) {
    const double c = case_draws.normal(0.0, model.case_sd);
    for (const double r : rater)
      scores.push_back(model.scale.score(c + r + rest_draws.normal(0.0, model.rest_sd)));
  }
  return scores;
}

}  // namespace

Result<IccModel> icc_model(const IccExpected& expected) {
  if (!(expected.icc > 0.0 && expected.icc < 1.0))
    return fail(Errc::invalid, "the expected ICC is {}: it lies between 0 and 1", expected.icc);
  if (!(expected.rater_share >= 0.0 && expected.rater_share <= 1.0))
    return fail(Errc::invalid, "the raters' share of the error is {}: it lies from 0 to 1",
                expected.rater_share);
  if (auto ok = check(expected.scale); !ok) return tl::unexpected(ok.error());

  const CutNormal scale(expected.scale);
  const double error = (1.0 - expected.icc) * scale.variance();
  const double of_case = part_carrying(expected.icc * scale.variance(), 1.0, scale);
  const double most = scale.variance_of_part(1.0 - of_case);
  if (expected.rater_share * error > most * (1.0 + 1e-9))
    return fail(
        Errc::invalid,
        "raters cannot carry {} of the error at an ICC of {} on this scale: steps and ceiling are error "
        "too, and leave them {:.2f} at most",
        expected.rater_share, expected.icc, most / error);
  const double of_rater =
      expected.rater_share > 0.0 ? part_carrying(expected.rater_share * error, 1.0 - of_case, scale) : 0.0;
  return IccModel{.icc = expected.icc,
                  .scale = scale,
                  .case_sd = std::sqrt(of_case),
                  .rater_sd = std::sqrt(of_rater),
                  .rest_sd = std::sqrt(std::max(0.0, 1.0 - of_case - of_rater))};
}

Achieved icc_achieved(const IccModel& model, std::size_t cases, std::size_t raters, const Goal& goal,
                      const Simulation& simulation) {
  const Study study = [&](std::size_t replicate) {
    const auto scores = scores_of(model, cases, raters, simulation.seed, replicate);
    const auto squares = stats::two_way_mean_squares(scores, cases, raters);
    if (!squares) return agreement::Estimate::undefined("fewer than two cases or two raters");
    return agreement::icc_all(*squares, simulation.confidence)[1].icc;
  };
  Achieved achieved = repeat(study, model.icc, goal, simulation);
  achieved.cases = cases;
  achieved.raters = raters;
  return achieved;
}

}  // namespace evenhand::planning
