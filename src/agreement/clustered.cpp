#include "agreement/clustered.hpp"

#include <cassert>
#include <cmath>
#include <cstddef>

#include "stats/distributions.hpp"

namespace evenhand::agreement {

Estimate ratio_by_case(std::span<const double> part, std::span<const double> whole, double confidence) {
  assert(part.size() == whole.size());
  double parts = 0.0, wholes = 0.0, cases = 0.0;
  for (std::size_t i = 0; i < part.size(); ++i) {
    if (whole[i] == 0.0) continue;
    parts += part[i];
    wholes += whole[i];
    cases += 1.0;
  }
  if (wholes == 0.0) return Estimate::undefined("there is nothing to divide by");

  const double share = parts / wholes;
  Estimate result = Estimate::undefined("fewer than two cases: an interval by case needs two");
  result.estimate = share;
  result.method = by_case_method;
  if (cases < 2.0) return result;
  double squares = 0.0;
  for (std::size_t i = 0; i < part.size(); ++i) {
    const double d = part[i] - share * whole[i];
    squares += d * d;
  }
  const double se = std::sqrt(cases / (cases - 1.0) * squares) / wholes;
  if (const auto t = stats::t_quantile(1.0 - (1.0 - confidence) / 2.0, cases - 1.0)) {
    result.lower = share - *t * se;
    result.upper = share + *t * se;
  }
  return result;
}

}  // namespace evenhand::agreement
