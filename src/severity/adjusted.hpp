#pragma once

#include <span>

#include "severity/model.hpp"
#include "severity/prediction.hpp"
#include "severity/severity.hpp"

namespace evenhand::severity {

/// One score of somebody who is extreme: u = offset + sign x, x being the location sought.
struct ExtremeScore {
  std::size_t item = 0;  ///< of the design
  double offset = 0.0;
};

/// The location at which the expected total of ranks is half a rank inside the end, and 1 over the root of
/// the information there. Undefined without scores that a finite location exists for.
Measured adjusted_location(Prediction& prediction, std::span<const ExtremeScore> scores, double sign,
                           Extreme end);

}  // namespace evenhand::severity
