#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "base/random.hpp"
#include "competency/simulated_rater.hpp"

namespace evenhand::competency {

/// How many of a department's raters are of each kind; the others are sound.
struct DepartmentMix {
  double severe = 0.15;      ///< share of raters
  double lenient = 0.15;     ///< share of raters
  double with_habit = 0.20;  ///< share of raters; the known habits in turn, abstaining aside
  std::size_t abstaining = 1;
  std::size_t untrained = 1;  ///< never trained: every fault at once
};

/// An invented department: r01, r02, ... in an order that tells nothing. Shares are rounded to the nearest
/// number of raters; when the kinds ask for more raters than there are, the first kinds in the order above
/// come first. Sound raters differ a little among one another. Reproducible by seed.
std::vector<SimulatedRater> invent_department(std::size_t raters, std::uint64_t seed,
                                              const DepartmentMix& mix = {});

SimulatedRater sound_rater(RaterId id, base::Random& random);
SimulatedRater untrained_rater(RaterId id, base::Random& random);

}  // namespace evenhand::competency
