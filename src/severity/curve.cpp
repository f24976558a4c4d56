#include "severity/curve.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evenhand::severity {
namespace {

constexpr double safe_exponent = 600.0;  // exp(709) overflows

}  // namespace

Curve::Curve(std::vector<double> log_weight) : log_weight_(std::move(log_weight)), reach_(0.0) {
  for (const double w : log_weight_) {
    reach_ = std::max(reach_, std::abs(w));
    weight_.push_back(std::exp(std::min(w, safe_exponent)));
  }
}

double Curve::probabilities(double u, double exp_u, double* p) const {
  const std::size_t m = steps();
  double sum = 0.0, shift = 0.0;
  if (std::abs(u) * static_cast<double>(m) + reach_ < safe_exponent) {
    double power = 1.0;
    for (std::size_t k = 0; k <= m; ++k) {
      p[k] = power * weight_[k];
      sum += p[k];
      power *= exp_u;
    }
  } else {
    for (std::size_t k = 0; k <= m; ++k) shift = std::max(shift, static_cast<double>(k) * u + log_weight_[k]);
    for (std::size_t k = 0; k <= m; ++k) {
      p[k] = std::exp(static_cast<double>(k) * u + log_weight_[k] - shift);
      sum += p[k];
    }
  }
  const double scale = 1.0 / sum;
  for (std::size_t k = 0; k <= m; ++k) p[k] *= scale;
  return shift + std::log(sum);
}

void Moments::take(const double* p, std::size_t steps) {
  double above = 0.0, sum = 0.0;
  for (std::size_t h = steps; h > 0; --h) {
    const auto k = static_cast<double>(h);
    above += p[h];
    sum += k * p[h];
    tail[h - 1] = above;
    covariance[h - 1] = sum;
  }
  mean = sum;
  for (std::size_t h = 0; h < steps; ++h) covariance[h] -= mean * tail[h];
  // A sum of squared distances: squares - mean^2 would lose the small variances near an end.
  variance = 0.0;
  for (std::size_t k = 0; k <= steps; ++k) {
    const double d = static_cast<double>(k) - mean;
    variance += d * d * p[k];
  }
}

}  // namespace evenhand::severity
