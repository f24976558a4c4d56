#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "stats/dense.hpp"

namespace evenhand::stats {

// With V = I + sum_r ratio_r V_r (V_r = Z_r Z_r', the residual variance factored out) and
// P = V^-1 - V^-1 1 (1'V^-1 1)^-1 1'V^-1, the deviance profiled over the residual variance is
// df log(y'Py / df) + log|V| + log|1'V^-1 1| + constants, and its derivatives are made of:
struct RemlTerms {
  double log_determinant;         ///< log|V| + log|1'V^-1 1|
  double squares;                 ///< y'Py
  std::vector<double> trace;      ///< tr(P V_r)
  std::vector<double> quadratic;  ///< y'P V_r P y
  Dense cross;                    ///< y'P V_r P V_s P y
  Dense traces;                   ///< tr(P V_r P V_s); empty where it would cost too much
};

/// Nothing when V is not positive definite to working precision.
using RemlModel = std::function<std::optional<RemlTerms>(std::span<const double> ratios)>;

struct RemlOptimum {
  std::vector<double> ratios;
  RemlTerms terms;
  double deviance;  ///< profiled, without df (1 + log 2 pi)
  std::size_t iterations;
  double gradient_norm;
  bool converged;
  bool residual_vanishes;  ///< a ratio grew without bound
};

/// The minimum of the deviance over ratios >= 0, from a start at which the model has terms.
RemlOptimum reml_optimum(const RemlModel& model, std::vector<double> start, double df);

/// Covariance of the variances (terms, then residual) from the expected information, or from the
/// average information where `traces` is empty. Terms with ratio 0 get 0.
/// Empty when the information is singular to working precision.
Dense reml_covariance(const RemlOptimum& optimum, double df);

}  // namespace evenhand::stats
