#pragma once

#include <cstddef>
#include <vector>

namespace evenhand::severity {

/// How likely each level of one item is, as the case's location less the rater's severity varies:
/// P(k) is proportional to exp(k u + log_weight[k]), log_weight[0] = 0.
class Curve {
 public:
  explicit Curve(std::vector<double> log_weight);

  /// Levels above the lowest.
  std::size_t steps() const { return log_weight_.size() - 1; }
  /// Fills p[0..steps] and returns the logarithm of the sum they were divided by. `exp_u` is exp(u):
  /// callers share it between items. Neither overflows for a finite u.
  double probabilities(double u, double exp_u, double* p) const;
  /// log P(level), given what `probabilities` returned.
  double log_probability(std::size_t level, double u, double log_sum) const {
    return static_cast<double>(level) * u + log_weight_[level] - log_sum;
  }

 private:
  std::vector<double> log_weight_;
  std::vector<double> weight_;
  double reach_;  // largest absolute log weight
};

/// What the level's distribution contributes to gradient and information. Levels count by their rank.
struct Moments {
  double mean = 0.0;
  double variance = 0.0;
  std::vector<double> tail;        ///< P(X >= h), h = 1..steps
  std::vector<double> covariance;  ///< of X and [X >= h]

  /// Room for items of up to so many steps.
  explicit Moments(std::size_t most_steps) : tail(most_steps), covariance(most_steps) {}
  void take(const double* p, std::size_t steps);
};

}  // namespace evenhand::severity
