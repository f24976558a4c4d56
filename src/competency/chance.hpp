#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "competency/decision.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

struct ChanceOptions {
  std::size_t draws = 500;
  std::uint64_t seed = 1;
};

/// How likely a rater who goes on as before is called ready at the next look.
struct ChanceOfReady {
  double chance = 0.0;
  double error = 0.0;  ///< Monte Carlo standard error
  std::size_t next_look = 0;
};

/// The chance of "ready" at the next look, by simulation. ("How many more cases" has no answer for a rater
/// below the standard; this has.) In each draw the true share is drawn from a beta distribution around the
/// scores so far at their effective number (Jeffreys' prior), each further case gets its number of right
/// scores from a beta-binomial with the within-case correlation that the limit reckons with, and the misses
/// fall on items as they did so far. So what is unknown about the rater is part of the answer.
///
/// cases, options  as `decide` takes them
/// Nothing when no look is to come, or fewer than two cases count.
std::optional<ChanceOfReady> chance_of_ready(std::span<const ScoredCase> cases, const Standard& standard,
                                             const DecideOptions& options, const ChanceOptions& how = {});

}  // namespace evenhand::competency
