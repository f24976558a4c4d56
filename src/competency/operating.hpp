#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "competency/sequential.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

/// How errors go together, for the simulation of a standard.
struct Scenario {
  double case_sd = 0.0;      ///< SD of the case effect, logits (some cases are hard for this rater)
  double item_sd = 0.0;      ///< SD of the item effect, logits: normal scores, the same in every case
  double able_share = 0.0;   ///< share of cases whose child does nearly everything ...
  double able_right = 0.99;  ///< ... and on which this share of scores equals the key
  std::size_t items = 14;    ///< of the instrument; a case shows all of them, or a part in turn
};

/// What a standard does with raters of one true share of agreement.
struct Operating {
  double ready = 0.0;
  double not_yet = 0.0;
  double not_shown = 0.0;
  double mean_cases = 0.0;   ///< scored until the decision, or until the last look
  double correlation = 0.0;  ///< within-case correlation that the scenario has
  std::size_t raters = 0;

  /// Standard error of a simulated share.
  double error_of(double share) const;
};

/// Simulates raters whose scores equal the key with probability `true_share` on average, and decides on each
/// by the standard. Case effects are normal on the logit scale, in addition to item effects; the intercept is
/// solved so that the mean over cases and items is `true_share`. Items come equally often: half cases show
/// odd and even items in turn, whole cases all of them.
///
/// attempts  attempts in a year (its level); each rater makes one of them
/// Nothing when no intercept gives `true_share` (with able children the mean has a floor), the items of a
/// case do not divide those of the instrument, or the standard has no level for the attempts.
/// Reproducible by seed; one stream a rater.
std::optional<Operating> operating_characteristics(const Standard& standard, const Scenario& scenario,
                                                   double true_share, std::size_t raters, std::uint64_t seed,
                                                   std::size_t attempts = 1);

/// The same raters under the sequential test, one step a case of `items_per_case` scores. Nothing as above,
/// or when the plan is none.
std::optional<Operating> operating_characteristics(const SequentialPlan& plan, std::size_t items_per_case,
                                                   const Scenario& scenario, double true_share,
                                                   std::size_t raters, std::uint64_t seed);

/// The sets of such raters as counts by case, one entry a rater, for other procedures to be tried on.
/// Nothing when no intercept gives `true_share`, or the items of a case do not divide those of the
/// instrument.
std::optional<std::vector<std::vector<CaseCount>>> simulated_counts(const Scenario& scenario,
                                                                    double true_share, std::size_t cases,
                                                                    std::size_t items_per_case,
                                                                    std::size_t raters, std::uint64_t seed);

}  // namespace evenhand::competency
