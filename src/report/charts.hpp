#pragma once

#include <string>
#include <vector>

#include "competency/decision.hpp"

namespace evenhand::report {

/// The share of agreement with its limits on a line from 0.4 to 1, with the standard's two marks.
std::string decision_chart(const competency::Look& look, double not_acceptable, double competent);

struct RaterRow {
  std::string rater;
  competency::Look look;
};

/// One such line a rater, in the order given, under the same marks.
std::string raters_chart(const std::vector<RaterRow>& rows, double not_acceptable, double competent);

}  // namespace evenhand::report
