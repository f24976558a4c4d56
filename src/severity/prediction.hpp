#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "severity/design.hpp"

namespace evenhand::severity {

/// What the model predicts for single scores at given parameters.
class Prediction {
 public:
  Prediction(const Design& design, const Layout& layout, std::vector<double> values,
             std::span<const double> level_points);

  const Design& design() const { return design_; }
  const Layout& layout() const { return layout_; }
  const std::vector<double>& values() const { return values_; }

  /// Mean and variance of the rank at u = case - rater.
  struct Rank {
    double mean, variance;
  };
  Rank rank(std::size_t item, double u);

  /// Expected points at u, and their derivatives: by u, and by each threshold of the item's set (which
  /// are negative). The derivative by an item's location is minus that by u.
  struct Points {
    double expected = 0.0;
    double by_u = 0.0;
    std::vector<double> by_threshold;
  };
  const Points& points(std::size_t item, double u);

 private:
  void fill(std::size_t item, double u);

  const Design& design_;
  const Layout& layout_;
  std::vector<double> values_;
  std::vector<std::vector<double>> points_of_;  // by set: what its levels in use are worth
  std::vector<Curve> curves_;
  Moments moments_;
  std::vector<double> p_;
  Points points_;
};

/// Sums for infit and outfit.
struct ResidualSums {
  std::size_t scores = 0;
  double squares = 0.0, variance = 0.0, standardized = 0.0;

  void add(double residual, double v) {
    ++scores;
    squares += residual * residual;
    variance += v;
    standardized += residual * residual / v;
  }
};

/// Residuals of every score in the fit, summed by case, rater and item of the design.
struct Residuals {
  std::vector<ResidualSums> cases, raters, items;
};
Residuals residuals_of(Prediction& prediction);

}  // namespace evenhand::severity
