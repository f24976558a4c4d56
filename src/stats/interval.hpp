#pragma once

namespace evenhand::stats {

/// Two limits of one estimate, in the unit of the estimate.
struct Interval {
  double lower;
  double upper;
};

}  // namespace evenhand::stats
