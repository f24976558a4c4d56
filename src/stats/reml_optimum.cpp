#include "stats/reml_optimum.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace evenhand::stats {
namespace {

constexpr std::size_t most_iterations = 200;
constexpr double largest_ratio = 1e13;
// In units of the deviance: the square of a step in standard errors.
constexpr double step_is_nothing = 1e-16;
constexpr double trust_without_search = 1e-8;

double deviance_of(const RemlTerms& terms, double df) {
  return df * std::log(terms.squares / df) + terms.log_determinant;
}

std::vector<double> gradient_of(const RemlTerms& t, double df) {
  std::vector<double> g(t.trace);
  for (std::size_t r = 0; r < g.size(); ++r) g[r] -= t.quadratic[r] / (t.squares / df);
  return g;
}

enum class Curvature { observed, scoring };

/// Second derivatives of the profiled deviance, or what stands for them and is never negative: their
/// expectation, or the average of both where the traces are not at hand.
double curvature(const RemlTerms& t, double df, Curvature kind, std::size_t r, std::size_t s) {
  const double variance = t.squares / df;
  const double profiled = t.quadratic[r] * t.quadratic[s] / (df * variance * variance);
  if (t.traces.empty()) return t.cross(r, s) / variance - profiled;
  if (kind == Curvature::scoring) return t.traces(r, s) - t.trace[r] * t.trace[s] / df;
  return 2.0 * t.cross(r, s) / variance - profiled - t.traces(r, s);
}

/// Solves for the terms in `free`, scaled to a unit diagonal; nothing unless positive definite.
std::optional<std::vector<double>> solve(const RemlTerms& t, double df, Curvature kind,
                                         std::span<const std::size_t> free, std::span<const double> g) {
  const std::size_t n = free.size();
  std::vector<double> scale(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double diagonal = curvature(t, df, kind, free[i], free[i]);
    if (!(diagonal > 0.0)) return std::nullopt;
    scale[i] = std::sqrt(diagonal);
  }
  Dense h(n, n);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      h(i, j) = i == j ? 1.0 + 1e-14 : curvature(t, df, kind, free[i], free[j]) / (scale[i] * scale[j]);
  const auto inverse = inverse_of(std::move(h));
  if (!inverse) return std::nullopt;
  std::vector<double> step(n);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      step[i] += inverse->inverse(i, j) * g[free[j]] / (scale[i] * scale[j]);
  return step;
}

/// A direction down the deviance. It is taken in the variances themselves, not in their ratios: there
/// scoring meets the optimum of balanced data in one step, however far the ratios are from it.
struct Step {
  std::vector<double> ratios;  // of the free terms, to be subtracted
  double log_residual = 0.0;   // what the logarithm of the residual variance does meanwhile
};

/// By the curvature, or steepest when neither is of use.
Step direction(const RemlTerms& t, double df, std::span<const std::size_t> free, std::span<const double> g) {
  const double variance = t.squares / df;
  for (const Curvature kind : {Curvature::observed, Curvature::scoring})
    if (auto ratios = solve(t, df, kind, free, g)) {
      Step step{*std::move(ratios)};
      const bool expected = kind == Curvature::scoring && !t.traces.empty();
      for (std::size_t i = 0; i < free.size(); ++i)
        step.log_residual +=
            (expected ? t.trace[free[i]] : t.quadratic[free[i]] / variance) * step.ratios[i] / df;
      return step;
    }
  Step step;
  for (const std::size_t r : free) {
    const double diagonal = std::abs(curvature(t, df, Curvature::scoring, r, r));
    step.ratios.push_back(g[r] / std::max(diagonal, 1e-12));
  }
  return step;
}

double slope_in_logarithm(const RemlOptimum& at, std::span<const double> g) {
  double largest = 0.0;
  for (std::size_t r = 0; r < g.size(); ++r) largest = std::max(largest, std::abs(g[r]) * at.ratios[r]);
  return largest;
}

/// Moves along the step, halved until the deviance falls enough; false when it will not.
bool advance(const RemlModel& model, double df, std::span<const std::size_t> free, const Step& step,
             double decrement, RemlOptimum& at) {
  for (int halvings = 0; halvings < 40; ++halvings) {  // to 1e-12 of the step
    const double length = std::ldexp(1.0, -halvings);
    std::vector<double> next = at.ratios;
    const double residual = std::max(1.0 + length * step.log_residual, 0.02);  // relative to its value now
    for (std::size_t i = 0; i < free.size(); ++i) {
      double& ratio = next[free[i]];
      const double variance = ratio * (1.0 + length * step.log_residual) - length * step.ratios[i];
      ratio = std::max(0.0, variance / residual);
    }
    const double promised = length * decrement;
    auto terms = model(next);
    if (!terms || !(terms->squares > 0.0)) continue;
    const double deviance = deviance_of(*terms, df);
    if (!std::isfinite(deviance)) continue;
    if (decrement > trust_without_search && !(deviance <= at.deviance - 1e-4 * promised)) continue;
    at.ratios = std::move(next);
    at.terms = *std::move(terms);
    at.deviance = deviance;
    return true;
  }
  return false;
}

}  // namespace

RemlOptimum reml_optimum(const RemlModel& model, std::vector<double> start, double df) {
  auto first = model(start);
  assert(first);
  RemlOptimum at{std::move(start), *std::move(first), 0.0, 0, 0.0, false, false};
  at.deviance = deviance_of(at.terms, df);
  double previous = HUGE_VAL;
  while (at.iterations < most_iterations) {
    const std::vector<double> g = gradient_of(at.terms, df);
    at.gradient_norm = slope_in_logarithm(at, g);
    std::vector<std::size_t> free;
    for (std::size_t r = 0; r < g.size(); ++r)
      if (at.ratios[r] > 0.0 || g[r] < 0.0) free.push_back(r);
    const Step step = direction(at.terms, df, free, g);
    double decrement = 0.0;
    for (std::size_t i = 0; i < free.size(); ++i) decrement += g[free[i]] * step.ratios[i];
    // Rounding keeps a huge ratio from the last digits: no further progress is an end, too.
    const bool stalled = decrement < 1e-10 && decrement >= previous / 2.0;
    at.converged = decrement <= step_is_nothing || stalled;
    if (at.converged) break;
    previous = decrement;
    ++at.iterations;
    if (!advance(model, df, free, step, decrement, at)) break;
    at.residual_vanishes = *std::max_element(at.ratios.begin(), at.ratios.end()) > largest_ratio;
    if (at.residual_vanishes) break;
  }
  return at;
}

Dense reml_covariance(const RemlOptimum& optimum, double df) {
  const RemlTerms& t = optimum.terms;
  const std::size_t m = optimum.ratios.size();
  const double variance = t.squares / df;
  std::vector<std::size_t> free;
  for (std::size_t r = 0; r < m; ++r)
    if (optimum.ratios[r] > 0.0) free.push_back(r);
  // Information on the ratios and the logarithm of the residual variance: nothing cancels there.
  const std::size_t n = free.size() + 1;
  Dense information(n, n);
  std::vector<double> scale(n);
  const auto entry = [&](std::size_t i, std::size_t j) {
    if (i == n - 1 && j == n - 1) return df;
    if (i == n - 1) std::swap(i, j);
    if (j == n - 1) return t.traces.empty() ? t.quadratic[free[i]] / variance : t.trace[free[i]];
    return t.traces.empty() ? t.cross(free[i], free[j]) / variance : t.traces(free[i], free[j]);
  };
  for (std::size_t i = 0; i < n; ++i) scale[i] = std::sqrt(entry(i, i));
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) information(i, j) = entry(i, j) / (scale[i] * scale[j]);
  const auto inverse = inverse_of(std::move(information));
  if (!inverse) return {};
  Dense slopes(m + 1, n);  // of the variances in the ratios and the logarithm
  for (std::size_t i = 0; i + 1 < n; ++i) {
    slopes(free[i], i) = variance / scale[i];
    slopes(free[i], n - 1) = optimum.ratios[free[i]] * variance / scale[n - 1];
  }
  slopes(m, n - 1) = variance / scale[n - 1];
  Dense covariance = product_transposed(product(slopes, inverse->inverse), slopes);
  for (std::size_t i = 0; i <= m; ++i)
    for (double& x : covariance.row(i)) x *= 2.0;
  return covariance;
}

}  // namespace evenhand::stats
