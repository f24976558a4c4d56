#pragma once

#include <cstddef>
#include <vector>

#include "base/random.hpp"
#include "competency/simulated_rater.hpp"
#include "competency/true_case.hpp"
#include "instrument/classify.hpp"

namespace evenhand::competency {

/// What a rater makes of one trial; both parallel to the item's `observe`.
struct Perceived {
  std::vector<double> written;  ///< what is written down
  std::vector<double> judged;   ///< what the rules are then applied to
};

/// Sees a trial with the errors of one rater: watch and ruler, a fact mistaken now and then, habits. What
/// cannot be seen together (an impossible cell of the instrument) nobody writes down: then numbers, and if
/// need be facts, are as they were.
Perceived perceive(const TrueTrial& trial, const SimulatedRater& rater, const instrument::Scoring& scoring,
                   std::size_t item, base::Random& random);

}  // namespace evenhand::competency
