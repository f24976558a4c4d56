#include "severity/prediction.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evenhand::severity {
namespace {

/// A variance this small is rounding of certainty; dividing by it would turn rounding into misfit.
constexpr double least_variance = 1e-12;

}  // namespace

Prediction::Prediction(const Design& design, const Layout& layout, std::vector<double> values,
                       std::span<const double> level_points)
    : design_(design),
      layout_(layout),
      values_(std::move(values)),
      curves_(curves_at(design, layout, values_)),
      moments_(design.most_steps()),
      p_(design.most_steps() + 1) {
  for (const auto& levels : design.levels) {
    points_of_.emplace_back();
    for (const std::size_t level : levels) points_of_.back().push_back(level_points[level]);
  }
}

void Prediction::fill(std::size_t item, double u) {
  const Curve& curve = curves_[item];
  curve.probabilities(u, std::exp(u), p_.data());
  moments_.take(p_.data(), curve.steps());
}

Prediction::Rank Prediction::rank(std::size_t item, double u) {
  fill(item, u);
  return {moments_.mean, moments_.variance};
}

const Prediction::Points& Prediction::points(std::size_t item, double u) {
  fill(item, u);
  const auto& worth = points_of_[design_.set_of[item]];
  const std::size_t steps = curves_[item].steps();
  points_.expected = 0.0;
  for (std::size_t k = 0; k <= steps; ++k) points_.expected += worth[k] * p_[k];
  points_.by_u = 0.0;
  points_.by_threshold.assign(steps, 0.0);
  for (std::size_t k = 0; k <= steps; ++k) {
    const double part = (worth[k] - points_.expected) * p_[k];
    points_.by_u += part * static_cast<double>(k);
    for (std::size_t h = 0; h < k; ++h) points_.by_threshold[h] -= part;
  }
  return points_;
}

Residuals residuals_of(Prediction& prediction) {
  const Design& design = prediction.design();
  const Layout& layout = prediction.layout();
  Residuals sums{std::vector<ResidualSums>(layout.cases), std::vector<ResidualSums>(layout.raters),
                 std::vector<ResidualSums>(design.items.size())};
  for (const Score& s : design.scores) {
    const double u = prediction.values()[layout.case_(s.case_)] - prediction.values()[layout.rater(s.rater)];
    const auto [mean, variance] = prediction.rank(s.item, u);
    const double residual = static_cast<double>(s.level) - mean, v = std::max(variance, least_variance);
    sums.cases[s.case_].add(residual, v);
    sums.raters[s.rater].add(residual, v);
    sums.items[s.item].add(residual, v);
  }
  return sums;
}

}  // namespace evenhand::severity
