#include "stats/proportion.hpp"

#include <cmath>

#include "stats/distributions.hpp"

namespace evenhand::stats {
namespace {

Result<void> check(double x, double n, double confidence) {
  if (!(n > 0.0) || !std::isfinite(n))
    return fail(Errc::undefined, "a proportion of {} has no limits: the number of trials must be above 0", n);
  if (!(x >= 0.0 && x <= n))
    return fail(Errc::invalid, "{} of {}: a count must lie between 0 and {}", x, n, n);
  if (!(confidence > 0.0 && confidence < 1.0))
    return fail(Errc::invalid, "confidence {}: must lie between 0 and 1, such as 0.95", confidence);
  return {};
}

/// The confidence of one limit when both together hold with `confidence`.
double one_sided(double confidence) { return 1.0 - (1.0 - confidence) / 2.0; }

enum class Side { lower, upper };

Result<double> wilson_limit(double x, double n, double confidence, Side side) {
  if (auto ok = check(x, n, confidence); !ok) return tl::unexpected(ok.error());
  return normal_quantile(confidence).map([&](double z) {
    const double failures = n - x;
    const double half = z * std::sqrt(x * failures / n + z * z / 4.0);
    // The two limits as (x + z^2/2 -/+ half) / (n + z^2); at 0 and n one of them is exact.
    if (side == Side::lower) return x == 0.0 && z > 0.0 ? 0.0 : (x + z * z / 2.0 - half) / (n + z * z);
    return failures == 0.0 && z > 0.0 ? 1.0 : (x + z * z / 2.0 + half) / (n + z * z);
  });
}

}  // namespace

Result<double> wilson_lower(double x, double n, double confidence) {
  return wilson_limit(x, n, confidence, Side::lower);
}

Result<double> wilson_upper(double x, double n, double confidence) {
  return wilson_limit(x, n, confidence, Side::upper);
}

Result<Interval> wilson(double x, double n, double confidence) {
  if (auto ok = check(x, n, confidence); !ok) return tl::unexpected(ok.error());
  const auto lower = wilson_lower(x, n, one_sided(confidence));
  const auto upper = wilson_upper(x, n, one_sided(confidence));
  if (!lower) return tl::unexpected(lower.error());
  if (!upper) return tl::unexpected(upper.error());
  return Interval{*lower, *upper};
}

Result<double> clopper_pearson_lower(double x, double n, double confidence) {
  if (auto ok = check(x, n, confidence); !ok) return tl::unexpected(ok.error());
  if (x == 0.0) return 0.0;
  return beta_quantile(1.0 - confidence, x, n - x + 1.0);
}

Result<double> clopper_pearson_upper(double x, double n, double confidence) {
  if (auto ok = check(x, n, confidence); !ok) return tl::unexpected(ok.error());
  if (x == n) return 1.0;
  return beta_quantile(confidence, x + 1.0, n - x);
}

Result<Interval> clopper_pearson(double x, double n, double confidence) {
  if (auto ok = check(x, n, confidence); !ok) return tl::unexpected(ok.error());
  const auto lower = clopper_pearson_lower(x, n, one_sided(confidence));
  const auto upper = clopper_pearson_upper(x, n, one_sided(confidence));
  if (!lower) return tl::unexpected(lower.error());
  if (!upper) return tl::unexpected(upper.error());
  return Interval{*lower, *upper};
}

}  // namespace evenhand::stats
