#include "agreement/bias.hpp"

#include <cassert>
#include <cmath>
#include <vector>

#include "stats/distributions.hpp"
#include "stats/moments.hpp"
#include "stats/signed_rank.hpp"

namespace evenhand::agreement {

Bias Bias::undefined(Reason reason) { return {Estimate::undefined(reason), reason, reason, reason, reason}; }

Bias bias(std::span<const double> first, std::span<const double> second, double confidence) {
  assert(first.size() == second.size());
  std::vector<stats::Counted> differences(first.size());
  for (std::size_t i = 0; i < first.size(); ++i) differences[i] = {first[i] - second[i], 1};
  return bias(differences, confidence);
}

Bias bias(std::span<const stats::Counted> differences, double confidence) {
  const auto moments = stats::moments(differences);
  if (!moments) return Bias::undefined("no case was scored by both");
  double absolute = 0.0, squared = 0.0;
  for (const auto& [d, count] : differences) {
    absolute += static_cast<double>(count) * std::abs(d);
    squared += static_cast<double>(count) * d * d;
  }

  const auto n = static_cast<double>(moments->n);
  Bias result = Bias::undefined("fewer than two cases were scored by both");
  result.bias.estimate = moments->mean;
  result.bias.method = "t";
  result.mae = absolute / n;
  result.rmse = std::sqrt(squared / n);
  const auto ranks = stats::signed_rank(differences);
  result.wilcoxon_p = ranks ? Value(ranks->p) : Value("every difference is zero");

  const auto sd = stats::standard_deviation(*moments);
  if (!sd) return result;
  const double se = *sd / std::sqrt(n);
  if (const auto t = stats::t_quantile(1.0 - (1.0 - confidence) / 2.0, n - 1.0)) {
    result.bias.lower = moments->mean - *t * se;
    result.bias.upper = moments->mean + *t * se;
  }
  result.p = Reason("all differences are equal: there is no spread to test against");
  if (se > 0.0)
    if (const auto p = stats::t_two_sided(moments->mean / se, n - 1.0)) result.p = *p;
  return result;
}

}  // namespace evenhand::agreement
