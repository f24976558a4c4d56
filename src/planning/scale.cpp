#include "planning/scale.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>

#include "stats/distributions.hpp"

namespace evenhand::planning {
namespace {

double density(double z) { return std::exp(-z * z / 2.0) / std::sqrt(2.0 * std::numbers::pi); }

double below(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

/// The normal quantile, at 0 and 1 too.
double cut_at(double share_below) {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  if (share_below < 1e-12) return -infinity;
  if (share_below > 1.0 - 1e-12) return infinity;
  return *stats::normal_quantile(share_below);
}

}  // namespace

ScoreScale equal_levels(std::size_t levels) {
  return {.shares = std::vector<double>(levels, 1.0 / static_cast<double>(levels))};
}

ScoreScale levels_with_ceiling(std::size_t levels, double ceiling) {
  ScoreScale scale{.shares = std::vector<double>(levels, (1.0 - ceiling) / static_cast<double>(levels - 1))};
  scale.shares.back() = ceiling;
  return scale;
}

Result<void> check(const ScoreScale& scale) {
  if (scale.shares.empty()) {
    if (scale.ceiling >= 0.0 && scale.ceiling < 1.0) return {};
    return fail(Errc::invalid, "the share of scores at the ceiling is {}: it lies from 0 to below 1",
                scale.ceiling);
  }
  for (const double share : scale.shares)
    if (!(share >= 0.0 && share <= 1.0))
      return fail(Errc::invalid, "a level has the share {} of the scores: shares lie from 0 to 1", share);
  const double sum = std::accumulate(scale.shares.begin(), scale.shares.end(), 0.0);
  if (std::abs(sum - 1.0) > 0.005)
    return fail(Errc::invalid, "the shares of the levels add up to {:.4g}: they make 1", sum);
  if (std::ranges::count_if(scale.shares, [](double share) { return share > 0.0; }) < 2)
    return fail(Errc::invalid, "only one level occurs: there is nothing to agree on");
  return {};
}

CutNormal::CutNormal(const ScoreScale& scale) : steps_(!scale.shares.empty()), variance_(1.0) {
  if (!steps_) {
    if (scale.ceiling == 0.0) return;
    const double t = cut_at(1.0 - scale.ceiling);
    thresholds_ = {t};
    const double above = 1.0 - below(t), mean = t * above - density(t);
    variance_ = below(t) - t * density(t) + t * t * above - mean * mean;
    return;
  }
  const double sum = std::accumulate(scale.shares.begin(), scale.shares.end(), 0.0);
  double passed = 0.0, mean = 0.0, square = 0.0;
  for (std::size_t level = 0; level < scale.shares.size(); ++level) {
    const double share = scale.shares[level] / sum, value = static_cast<double>(level);
    if (level > 0) thresholds_.push_back(cut_at(passed));
    passed += share;
    mean += share * value;
    square += share * value * value;
  }
  variance_ = square - mean * mean;
}

double CutNormal::score(double latent) const {
  if (steps_) return static_cast<double>(std::ranges::upper_bound(thresholds_, latent) - thresholds_.begin());
  return thresholds_.empty() ? latent : std::min(latent, thresholds_.front());
}

double CutNormal::mean_score(double latent, double rest_sd) const {
  if (rest_sd == 0.0) return score(latent);
  if (steps_) {
    double mean = 0.0;
    for (const double t : thresholds_) mean += below((latent - t) / rest_sd);
    return mean;
  }
  if (thresholds_.empty()) return latent;
  const double excess = latent - thresholds_.front(), z = excess / rest_sd;
  return latent - rest_sd * density(z) - excess * below(z);
}

double CutNormal::variance_of_part(double part) const {
  // The trapezoid rule over +-8 SD; for smooth functions under a normal density it is exact to rounding.
  constexpr int half = 400;
  constexpr double step = 8.0 / half;
  const double sd = std::sqrt(part), rest_sd = std::sqrt(std::max(0.0, 1.0 - part));
  double weight = 0.0, mean = 0.0, square = 0.0;
  for (int i = -half; i <= half; ++i) {
    const double w = density(i * step), m = mean_score(sd * i * step, rest_sd);
    weight += w;
    mean += w * m;
    square += w * m * m;
  }
  mean /= weight;
  return square / weight - mean * mean;
}

}  // namespace evenhand::planning
