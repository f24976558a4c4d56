#include "agreement/limits_of_agreement.hpp"

#include <cassert>
#include <cmath>
#include <string_view>
#include <vector>

#include "stats/distributions.hpp"
#include "stats/moments.hpp"

namespace evenhand::agreement {

LimitsOfAgreement LimitsOfAgreement::undefined(Reason reason) {
  return {reason, reason, Estimate::undefined(reason), Estimate::undefined(reason)};
}

LimitsOfAgreement limits_of_agreement(std::span<const double> first, std::span<const double> second,
                                      const LimitsOfAgreementOptions& options) {
  assert(first.size() == second.size());
  std::vector<double> differences(first.size());
  for (std::size_t i = 0; i < first.size(); ++i) differences[i] = first[i] - second[i];
  const auto moments = stats::moments(differences);
  if (!moments) return LimitsOfAgreement::undefined("no case was scored by both");

  LimitsOfAgreement result = LimitsOfAgreement::undefined("fewer than two cases were scored by both");
  result.bias = moments->mean;
  const auto sd = stats::standard_deviation(*moments);
  if (!sd) return result;
  result.sd = *sd;
  const auto n = static_cast<double>(moments->n);
  const bool newer = options.error == LimitsError::exact_1999;
  const double z = options.z;
  const double se = *sd * std::sqrt(newer ? 1.0 / n + z * z / (2.0 * (n - 1.0)) : 3.0 / n);
  const auto t = stats::t_quantile(1.0 - (1.0 - options.confidence) / 2.0, n - 1.0);
  const std::string_view method = newer ? "Bland & Altman 1999" : "Bland & Altman 1986";
  const auto limit = [&](double at) {
    Estimate estimate = Estimate::undefined("the t distribution gave no value");
    estimate.estimate = at;
    estimate.method = method;
    if (t) {
      estimate.lower = at - *t * se;
      estimate.upper = at + *t * se;
    }
    return estimate;
  };
  result.lower = limit(moments->mean - z * *sd);
  result.upper = limit(moments->mean + z * *sd);
  return result;
}

}  // namespace evenhand::agreement
