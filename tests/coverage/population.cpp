#include "coverage/population.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "stats/distributions.hpp"

namespace evenhand::coverage {
namespace {

/// Cuts of a normal value with this variance, from the shares of the levels from the lowest.
std::vector<double> cuts_at(const std::vector<double>& shares, double variance) {
  std::vector<double> cuts;
  double below = 0.0;
  for (std::size_t level = 0; level + 1 < shares.size(); ++level) {
    below += shares[level];
    cuts.push_back(*stats::normal_quantile(below) * std::sqrt(variance));
  }
  return cuts;
}

std::vector<double> shares_of(Shape shape, double top) {
  if (shape == Shape::flat) return std::vector<double>(n_levels, 1.0 / static_cast<double>(n_levels));
  std::vector<double> shares{2.5, 4.0, 5.5, 8.0};
  for (double& share : shares) share *= (1.0 - top) / 20.0;
  shares.push_back(top);
  return shares;
}

std::string name_of(Shape shape, double top) {
  switch (shape) {
    case Shape::continuous:
      return "continuous";
    case Shape::capped:
      return fmt::format("capped {:.0f} %", 100.0 * top);
    case Shape::flat:
      return "levels, flat";
    case Shape::ceiling:
      break;
  }
  return fmt::format("levels, {:.0f} % at top", 100.0 * top);
}

/// Mean score where the latent value is normal with this mean and SD.
double mean_score(const Population& p, double mean, double sd) {
  if (p.levels()) {
    double sum = 0.0;
    for (const double cut : p.cuts) sum += normal_cdf((mean - cut) / sd);
    return sum;
  }
  if (p.shape == Shape::continuous) return mean;
  const double a = (p.cap - mean) / sd;
  return mean * normal_cdf(a) - sd * normal_density(a) + p.cap * (1.0 - normal_cdf(a));
}

/// Variance of a function of a normal value with this SD; midpoint rule, smooth or with few steps.
template <class Function>
double variance_of(double sd, Function function) {
  constexpr double reach = 8.0, step = 0.002;
  double weights = 0.0, sum = 0.0, squares = 0.0;
  for (double z = -reach + step / 2.0; z < reach; z += step) {
    const double weight = normal_density(z), value = function(sd * z);
    weights += weight;
    sum += weight * value;
    squares += weight * value * value;
  }
  const double mean = sum / weights;
  return squares / weights - mean * mean;
}

/// Exact for levels, where a step would cost the quadrature its digits.
double total_variance(const Population& p) {
  const double sd = std::sqrt(1.0 + p.rater + p.residual);
  if (!p.levels()) return variance_of(sd, [&](double latent) { return p.score(latent); });
  double mean = 0.0, square = 0.0, level = 0.0;
  for (const double cut : p.cuts) {
    const double above = 1.0 - normal_cdf(cut / sd);
    mean += above;
    square += (2.0 * level + 1.0) * above;
    level += 1.0;
  }
  return square - mean * mean;
}

}  // namespace

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }
double normal_density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi); }

double Population::score(double latent) const {
  if (levels())
    return static_cast<double>(std::count_if(cuts.begin(), cuts.end(), [&](double c) { return c < latent; }));
  return shape == Shape::capped ? std::min(latent, cap) : latent;
}

double Population::draw_rater(base::Random& random) const { return random.normal(0.0, std::sqrt(rater)); }
double Population::draw_rest(base::Random& random) const { return random.normal(0.0, std::sqrt(residual)); }

Population population(Shape shape, double rater, double residual, double top) {
  const double variance = 1.0 + rater + residual;
  Population p;
  p.name = name_of(shape, top);
  p.shape = shape;
  p.rater = rater;
  p.residual = residual;
  if (shape == Shape::flat || shape == Shape::ceiling) p.cuts = cuts_at(shares_of(shape, top), variance);
  if (shape == Shape::capped) p.cap = *stats::normal_quantile(1.0 - top) * std::sqrt(variance);
  return p;
}

std::string_view name_of(Severity severity) { return severity == Severity::small ? "small" : "large"; }

Population population(Shape shape, Severity severity, double top) {
  return severity == Severity::small ? population(shape, 0.02, 0.23, top)
                                     : population(shape, 0.15, 0.10, top);
}

Components components(const Population& p) {
  const double of_case =
      variance_of(1.0, [&](double x) { return mean_score(p, x, std::sqrt(p.rater + p.residual)); });
  const double of_rater =
      p.rater > 0.0 ? variance_of(std::sqrt(p.rater),
                                  [&](double x) { return mean_score(p, x, std::sqrt(1.0 + p.residual)); })
                    : 0.0;
  return {of_case, of_rater, total_variance(p) - of_case - of_rater};
}

}  // namespace evenhand::coverage
