#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>

#include "agreement/estimate.hpp"

namespace evenhand::planning {

enum class GoalKind {
  mean_width,     ///< the full width of the interval is at most the bound on average
  assured_width,  ///< it is at most the bound in at least the share `assurance` of studies
  assured_lower,  ///< the lower limit is at least the bound in at least that share of studies
};

/// How precise the study shall be.
struct Goal {
  GoalKind kind = GoalKind::mean_width;
  double bound = 0.2;
  double assurance = 0.8;
};

/// How a plan is simulated. The same seed gives the same digits for any number of threads.
struct Simulation {
  std::size_t replicates = 1000;
  std::uint64_t seed = 1;
  std::size_t threads = 1;
  double confidence = 0.95;  ///< two-sided, of the interval that the study will give
};

/// What studies of one size come to, each figure with its Monte Carlo standard error.
struct Achieved {
  std::size_t cases = 0;
  std::size_t raters = 0;
  double mean_width = 0.0;
  double width_error = 0.0;
  double meeting =
      0.0;  ///< share of studies with a width of at most the bound, or a lower limit of at least it
  double meeting_error = 0.0;
  double mean_estimate = 0.0;
  double spread = 0.0;    ///< from the lowest to the highest of the middle `confidence` of the estimates
  double coverage = 0.0;  ///< share of the intervals that contain the truth; of those there are
  double without_interval = 0.0;  ///< share of studies whose scores allow no interval
};

/// One simulated study: its interval.
using Study = std::function<agreement::Estimate(std::size_t replicate)>;

/// Repeats a study `simulation.replicates` times. A study without limits, or with both limits in one place
/// (not one disagreement: the error is then estimated as zero), tells nothing about precision: it counts as
/// 1 wide, as not meeting the goal, and under `without_interval`.
/// truth  what the coefficient is in an endless study, for the coverage
/// `study` is called from several threads at once.
Achieved repeat(const Study& study, double truth, const Goal& goal, const Simulation& simulation);

/// Whether what was achieved is what was wanted, after moving it by `errors` Monte Carlo standard errors
/// towards the goal (above 0) or away from it.
bool meets(const Achieved& achieved, const Goal& goal, double errors = 0.0);

/// The smallest number that meets the goal, and between which numbers it lies as far as the simulation can
/// tell: where the goal is met give or take two Monte Carlo standard errors.
struct Needed {
  std::optional<std::size_t> number = {};    ///< nothing: not even the limit is enough
  std::optional<std::size_t> at_least = {};  ///< nothing: beyond the limit
  std::optional<std::size_t> at_most = {};   ///< nothing: beyond the limit
  Achieved achieved = {};                    ///< with `number`, or with the limit
  std::size_t limit = 0;
};

/// Doubles from `first` until the goal is met, then halves the gap. A number that meets the goal is taken to
/// be followed by such numbers only; with common random numbers (a replicate keeps its draws as the study
/// grows) that holds but for neighboring numbers.
/// at   what a size comes to; asked once for each
Needed fewest(std::size_t first, std::size_t limit, const Goal& goal,
              const std::function<Achieved(std::size_t)>& at);

}  // namespace evenhand::planning
