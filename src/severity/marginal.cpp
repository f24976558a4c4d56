#include "severity/marginal.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>
#include <span>

#include "severity/linkage.hpp"
#include "severity/patterns.hpp"
#include "severity/quadrature.hpp"

namespace evenhand::severity {
namespace {

constexpr double decrement_converged = 1e-14;
constexpr double step_limit = 3.0;

/// Raters, items, thresholds, then log of the population's standard deviation.
struct Parameters {
  std::vector<double> kept;
  double sd() const { return std::exp(kept.back()); }
};

struct Evaluation {
  double log_likelihood = 0.0;
  std::vector<double> gradient;
  Symmetric complete;         ///< information had the cases been known, averaged over what is known of them
  Symmetric lost;             ///< what is lost by not knowing them
  double spread_slope = 0.0;  ///< derivative by the population's variance, at variance 0
};

/// Where a case lies given its scores.
struct Posterior {
  double mean = 0.0, sd = 1.0;
};

class Integrator {
 public:
  Integrator(const Design& design, const Layout& layout, std::size_t points)
      : design_(design), layout_(layout), moments_(design.most_steps()), patterns_(patterns_of(design)) {
    const std::array<std::size_t, 3> sizes{points, (points + 1) / 2, points / 4};
    for (std::size_t i = 0; i < sizes.size(); ++i)
      rules_[i] = normal_quadrature(std::max<std::size_t>(3, sizes[i]));
    mode_.assign(patterns_.list.size(), 0.0);
    posterior_.resize(patterns_.list.size());
  }

  /// no_spread: every case lies at 0.
  Evaluation evaluate(const Parameters& parameters, bool spread) {
    const std::size_t n = parameters.kept.size();
    Evaluation result{0.0, std::vector<double>(n), Symmetric(n), Symmetric(n), 0.0};
    std::vector<double> values(layout_.cases);
    values.insert(values.end(), parameters.kept.begin(), parameters.kept.end() - 1);
    curves_ = curves_at(design_, layout_, values);
    rater_ = std::span(parameters.kept).first(layout_.raters);
    for (std::size_t place = 0; place < patterns_.list.size(); ++place) {
      cases_ = static_cast<double>(patterns_.list[place].cases);
      add_cases(place, patterns_.list[place].scores, spread ? parameters.sd() : 0.0, result);
    }
    return result;
  }

  const Posterior& posterior(std::size_t case_) const { return posterior_[patterns_.of_case[case_]]; }

 private:
  std::size_t place(std::size_t layout_place) const { return layout_place - layout_.cases; }

  /// First and negative second derivative of a case's log likelihood by its location.
  std::pair<double, double> slope_at(std::span<const Score> scores, double location) {
    double slope = 0.0, curvature = 0.0;
    p_.resize(design_.most_steps() + 1);
    for_each_curve(scores, location, [&](const Score& s, const Curve& curve, double u, double exp_u) {
      curve.probabilities(u, exp_u, p_.data());
      moments_.take(p_.data(), curve.steps());
      slope += static_cast<double>(s.level) - moments_.mean;
      curvature += moments_.variance;
    });
    return {slope, curvature};
  }

  /// Calls f with each score's curve at the location; the exponential is shared by a rater's scores.
  template <class F>
  void for_each_curve(std::span<const Score> scores, double location, F f) {
    std::uint32_t rater = left_out;
    double u = 0.0, exp_u = 1.0;
    for (const Score& s : scores) {
      if (s.rater != rater) {
        rater = s.rater;
        u = location - rater_[rater];
        exp_u = std::exp(u);
      }
      f(s, curves_[s.item], u, exp_u);
    }
  }

  /// Mode of likelihood times population, and its curvature there.
  std::pair<double, double> mode_of(std::size_t pattern, std::span<const Score> scores, double sd) {
    double& mode = mode_[pattern];
    const double precision = 1.0 / (sd * sd);
    double curvature = precision;
    for (int i = 0; i < 100; ++i) {
      const auto [slope, information] = slope_at(scores, mode);
      curvature = information + precision;
      const double step = (slope - mode * precision) / curvature;
      mode += std::clamp(step, -1.0, 1.0);
      // The points need not stand exactly at the mode; the same place is found again from any start.
      if (std::abs(step) < 1e-10) break;
    }
    return {mode, curvature};
  }

  const NormalQuadrature& rule_for(std::size_t scores) const {
    return rules_[scores <= 60 ? 0 : scores < 600 ? 1 : 2];
  }

  void add_cases(std::size_t pattern, std::span<const Score> scores, double sd, Evaluation& to) {
    locations_.assign(1, 0.0);
    log_mass_.assign(1, 0.0);
    if (sd > 0.0) {
      const auto [mode, curvature] = mode_of(pattern, scores, sd);
      const double scale = 1.0 / std::sqrt(curvature);
      const NormalQuadrature& rule = rule_for(scores.size());
      locations_.clear();
      log_mass_.clear();
      for (std::size_t q = 0; q < rule.points.size(); ++q) {
        const double x = rule.points[q], location = mode + scale * x, z = location / sd;
        locations_.push_back(location);
        // Density of the population over that of the points, times the weight.
        log_mass_.push_back(rule.log_weights[q] + 0.5 * x * x - 0.5 * z * z + std::log(scale / sd));
      }
    }
    weigh(scores, to);
    Posterior after{0.0, 0.0};
    for (std::size_t q = 0; q < locations_.size(); ++q) after.mean += mass_[q] * locations_[q];
    for (std::size_t q = 0; q < locations_.size(); ++q)
      after.sd += mass_[q] * (locations_[q] - after.mean) * (locations_[q] - after.mean);
    posterior_[pattern] = {after.mean, std::sqrt(after.sd)};
    accumulate(scores, sd, to);
  }

  /// Probabilities of every score at every point, the case's log likelihood, and the mass of each point.
  void weigh(std::span<const Score> scores, Evaluation& to) {
    const std::size_t width = design_.most_steps() + 1;
    all_p_.resize(scores.size() * locations_.size() * width);
    double* p = all_p_.data();
    for (std::size_t q = 0; q < locations_.size(); ++q)
      for_each_curve(scores, locations_[q], [&](const Score& s, const Curve& curve, double u, double exp_u) {
        log_mass_[q] += curve.log_probability(s.level, u, curve.probabilities(u, exp_u, p));
        p += width;
      });
    const double most = *std::ranges::max_element(log_mass_);
    double sum = 0.0;
    for (const double m : log_mass_) sum += std::exp(m - most);
    to.log_likelihood += cases_ * (most + std::log(sum));
    mass_.clear();
    for (const double m : log_mass_) mass_.push_back(std::exp(m - most) / sum);
  }

  void accumulate(std::span<const Score> scores, double sd, Evaluation& to) {
    const std::size_t points = locations_.size(), n = to.gradient.size();
    slopes_.assign(points * n, 0.0);
    for (std::size_t j = 0; j < scores.size(); ++j) add_score(scores, j, to);
    if (sd > 0.0)
      for (std::size_t q = 0; q < points; ++q) {
        const double z = locations_[q] / sd;
        slopes_[q * n + n - 1] = z * z - 1.0;
        to.complete(n - 1, n - 1) += cases_ * 2.0 * mass_[q] * z * z;
      }
    else
      add_spread_slope(scores, to);
    std::vector<double> mean(n);
    for (std::size_t q = 0; q < points; ++q)
      for (std::size_t j = 0; j < n; ++j) mean[j] += mass_[q] * slopes_[q * n + j];
    for (std::size_t j = 0; j < n; ++j) to.gradient[j] += cases_ * mean[j];
    if (points == 1) return;
    for (std::size_t q = 0; q < points; ++q) {
      double* slope = slopes_.data() + q * n;
      for (std::size_t j = 0; j < n; ++j) slope[j] -= mean[j];
      to.lost.add_square(slope, cases_ * mass_[q]);
    }
  }

  /// One score's part: of the slope at each point, and of the complete-data information over all points.
  void add_score(std::span<const Score> scores, std::size_t j, Evaluation& to) {
    const Score& s = scores[j];
    const std::size_t steps = curves_[s.item].steps(), width = design_.most_steps() + 1,
                      n = to.gradient.size();
    const std::size_t rater = place(layout_.rater(s.rater)),
                      item = layout_.items ? place(layout_.item(s.item)) : 0;
    const std::size_t first = place(layout_.threshold(design_.set_of[s.item], 1));
    double variance = 0.0;
    covariance_.assign(steps, 0.0);
    tails_.assign(steps * steps, 0.0);
    for (std::size_t q = 0; q < locations_.size(); ++q) {
      moments_.take(all_p_.data() + (q * scores.size() + j) * width, steps);
      const double mass = cases_ * mass_[q], residual = static_cast<double>(s.level) - moments_.mean;
      double* slope = slopes_.data() + q * n;
      slope[rater] -= residual;
      if (layout_.items) slope[item] -= residual;
      variance += mass * moments_.variance;
      for (std::size_t h = 0; h < steps; ++h) {
        slope[first + h] -= (s.level > h ? 1.0 : 0.0) - moments_.tail[h];
        covariance_[h] += mass * moments_.covariance[h];
        const double tail = mass * moments_.tail[h];
        for (std::size_t g = 0; g <= h; ++g) tails_[h * steps + g] += tail * (1.0 - moments_.tail[g]);
      }
    }
    to.complete(rater, rater) += variance;
    if (layout_.items) {
      to.complete(item, rater) += variance;
      to.complete(item, item) += variance;
    }
    for (std::size_t h = 0; h < steps; ++h) {
      double* row = to.complete.row(first + h);
      row[rater] += covariance_[h];
      if (layout_.items) row[item] += covariance_[h];
      for (std::size_t g = 0; g <= h; ++g) row[first + g] += tails_[h * steps + g];
    }
  }

  /// With every case at 0: how the log likelihood changes with the first bit of spread, half the squared
  /// slope less the information.
  void add_spread_slope(std::span<const Score> scores, Evaluation& to) {
    const auto [slope, information] = slope_at(scores, 0.0);
    to.spread_slope += cases_ * 0.5 * (slope * slope - information);
  }

  const Design& design_;
  const Layout& layout_;
  Moments moments_;
  Patterns patterns_;
  double cases_ = 1.0;  // of the pattern at hand: what it adds counts so many times
  std::array<NormalQuadrature, 3> rules_;
  std::vector<Curve> curves_;
  std::span<const double> rater_;
  std::vector<double> mode_, p_, all_p_, locations_, log_mass_, mass_, slopes_, covariance_, tails_;
  std::vector<Posterior> posterior_;
};

Arrow arrow_of(const Layout& layout, const Evaluation& at, bool with_lost) {
  Arrow arrow(Split::without_cases(layout, 1));
  arrow.corner = at.complete;
  if (with_lost)
    for (std::size_t i = 0; i < arrow.corner.size(); ++i)
      for (std::size_t j = 0; j <= i; ++j) arrow.corner(i, j) -= at.lost(i, j);
  return arrow;
}

double largest(const std::vector<double>& values, const std::vector<bool>& fixed) {
  double most = 0.0;
  for (std::size_t i = 0; i < values.size(); ++i)
    if (!fixed[i]) most = std::max(most, std::abs(values[i]));
  return most;
}

/// Thresholds that give each item's levels their observed shares, for a case and rater at 0.
Parameters start(const Design& design, const Layout& layout) {
  Parameters parameters{std::vector<double>(layout.size() - layout.cases + 1)};
  std::vector<std::vector<double>> counts;
  for (const auto& levels : design.levels) counts.emplace_back(levels.size(), 0.5);
  for (const Score& s : design.scores) counts[design.set_of[s.item]][s.level] += 1.0;
  for (std::size_t set = 0; set < counts.size(); ++set)
    for (std::size_t h = 1; h < counts[set].size(); ++h)
      parameters.kept[layout.threshold(set, h) - layout.cases] =
          std::log(counts[set][h - 1] / counts[set][h]);
  return parameters;
}

/// A maximizer over what is not fixed; the last entry is the log of the standard deviation.
class Climb {
 public:
  Climb(const Design& design, const Layout& layout, std::size_t points)
      : layout_(layout),
        integrator_(design, layout, points),
        fixed_(redundant_without_cases(design, layout)) {
    fixed_.push_back(false);
  }

  void run(Parameters& at, bool spread, std::size_t most_iterations, Convergence& c) {
    fixed_.back() = !spread;
    now_ = integrator_.evaluate(at, spread);
    c.outcome = Outcome::out_of_steps;
    while (c.outcome == Outcome::out_of_steps && c.iterations < most_iterations) {
      ++c.iterations;
      if (!step(at, spread, c)) return;
    }
  }

  const Evaluation& now() const { return now_; }
  Integrator& integrator() { return integrator_; }
  const std::vector<bool>& fixed() const { return fixed_; }

 private:
  /// One step uphill; false when there is none.
  bool step(Parameters& at, bool spread, Convergence& c) {
    const Arrow observed = arrow_of(layout_, now_, true), complete = arrow_of(layout_, now_, false);
    const ArrowInverse newton(observed, fixed_);
    const bool em = !newton.positive_definite();
    const ArrowInverse expected(complete, fixed_);
    if (em && !expected.positive_definite()) {
      c.outcome = Outcome::diverging;
      return false;
    }
    const std::vector<double> move = (em ? expected : newton).solve(now_.gradient);
    const double decrement = std::inner_product(move.begin(), move.end(), now_.gradient.begin(), 0.0);
    double share = std::min(1.0, step_limit / std::max(1e-300, largest(move, fixed_)));
    for (int halving = 0; halving < 40; ++halving, share /= 2) {
      Parameters next = at;
      for (std::size_t p = 0; p < next.kept.size(); ++p) next.kept[p] += share * move[p];
      Evaluation then = integrator_.evaluate(next, spread);
      if (!(then.log_likelihood >= now_.log_likelihood || decrement < 1e-6)) continue;
      at = std::move(next);
      now_ = std::move(then);
      break;
    }
    if (decrement < decrement_converged && !em) c.outcome = Outcome::converged;
    return true;
  }

  const Layout& layout_;
  Integrator integrator_;
  std::vector<bool> fixed_;
  Evaluation now_;
};

}  // namespace

Fitted fit_marginal(const Design& design, const Layout& layout, std::size_t points,
                    std::size_t most_iterations) {
  Fitted fitted;
  fitted.values.assign(layout.size(), 0.0);
  if (design.scores.empty()) return fitted;
  Climb climb(design, layout, points);
  Convergence& c = fitted.convergence;
  // At no spread first: where more spread makes the scores no likelier, that is the maximum.
  Parameters at = start(design, layout);
  climb.run(at, false, most_iterations, c);
  const bool spread = c.outcome == Outcome::converged && climb.now().spread_slope > 0.0;
  if (spread) {
    at.kept.back() = 0.0;
    climb.run(at, true, most_iterations, c);
  }
  const Evaluation& now = climb.now();
  c.log_likelihood = now.log_likelihood;
  c.gradient_norm = largest(now.gradient, climb.fixed());
  for (std::size_t p = 0; p + 1 < at.kept.size(); ++p) fitted.values[layout.cases + p] = at.kept[p];
  for (std::size_t i = 0; i < layout.cases; ++i) {
    fitted.values[i] = climb.integrator().posterior(i).mean;
    fitted.case_sd_after.push_back(climb.integrator().posterior(i).sd);
  }
  if (c.outcome == Outcome::diverging) return fitted;
  const Arrow observed = arrow_of(layout, now, true);
  const ArrowInverse inverse(observed, climb.fixed());
  if (!inverse.positive_definite()) c.outcome = Outcome::diverging;
  fitted.covariance = Covariance(inverse, layout.cases);
  if (spread) {
    fitted.case_sd = at.sd();
    const Projected log_sd = fitted.covariance.project({{layout.size(), 1.0}});
    fitted.log_case_sd_se = std::sqrt(fitted.covariance.variance(log_sd));
  }
  return fitted;
}

}  // namespace evenhand::severity
