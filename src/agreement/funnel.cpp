#include "agreement/funnel.hpp"

#include <cmath>
#include <optional>

#include "stats/distributions.hpp"
#include "stats/moments.hpp"

namespace evenhand::agreement {
namespace {

constexpr double inner = 0.95;
constexpr double outer = 0.998;

struct Quantiles {
  double inner;
  double outer;
};

void set_limits(FunnelPoint& point, double center, double sd, const Quantiles& t) {
  const double error = sd / std::sqrt(static_cast<double>(point.cases));
  point.inner_lower = center - t.inner * error;
  point.inner_upper = center + t.inner * error;
  point.outer_lower = center - t.outer * error;
  point.outer_upper = center + t.outer * error;
  point.outside_inner = std::abs(*point.mean - center) > t.inner * error;
  point.outside_outer = std::abs(*point.mean - center) > t.outer * error;
}

std::optional<Quantiles> quantiles(double df) {
  const auto narrow = stats::t_quantile((1.0 + inner) / 2.0, df);
  const auto wide = stats::t_quantile((1.0 + outer) / 2.0, df);
  if (!narrow || !wide) return std::nullopt;
  return Quantiles{*narrow, *wide};
}

}  // namespace

Result<Funnel> funnel(std::span<const std::vector<double>> errors) {
  Funnel result;
  std::vector<double> all;
  double squares = 0.0;
  std::size_t raters = 0;
  for (std::size_t r = 0; r < errors.size(); ++r) {
    for (const double each : errors[r])
      if (!std::isfinite(each))
        return fail(Errc::invalid, "funnel: an error of rater {} is not a finite number", r + 1);
    FunnelPoint& point = result.raters.emplace_back();
    const auto moments = stats::moments(errors[r]);
    if (!moments) continue;
    point.cases = moments->n;
    point.mean = moments->mean;
    squares += moments->squares;
    result.df += static_cast<double>(moments->n) - 1.0;
    all.insert(all.end(), errors[r].begin(), errors[r].end());
    ++raters;
  }
  const auto whole = stats::moments(all);
  if (!whole) return result;
  const double center = whole->mean;
  result.center = center;
  result.sd = result.spread = Reason("no rater has two cases");
  if (result.df <= 0.0) return result;
  const double sd = std::sqrt(squares / result.df);
  result.sd = sd;
  result.spread = Reason("errors do not differ within any rater, so there is nothing to hold raters against");
  const auto t = quantiles(result.df);
  if (sd == 0.0 || !t) return result;
  double distance = 0.0;
  for (FunnelPoint& point : result.raters) {
    if (point.cases == 0) continue;
    set_limits(point, center, sd, *t);
    const double z = (*point.mean - center) / (sd / std::sqrt(static_cast<double>(point.cases)));
    distance += z * z;
  }
  // One degree of freedom goes into the center.
  result.spread =
      raters < 2 ? Value("fewer than two raters") : Value(distance / static_cast<double>(raters - 1));
  return result;
}

}  // namespace evenhand::agreement
