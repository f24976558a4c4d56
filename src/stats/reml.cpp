#include "stats/reml.hpp"

namespace evenhand::stats {

std::string_view text(RemlProblem problem) {
  switch (problem) {
    case RemlProblem::too_few_levels:
      return "a factor has fewer than two levels with a value";
    case RemlProblem::no_variation:
      return "all values are the same";
    case RemlProblem::no_residual_df:
      return "every value is needed to place the levels: none is left for the residual";
    case RemlProblem::confounded:
      return "the design cannot tell the variance components apart";
    case RemlProblem::no_residual:
      return "the levels explain every value: there is no residual variance";
  }
  return {};
}

}  // namespace evenhand::stats
