#include "severity/joint.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace evenhand::severity {
namespace {

constexpr double decrement_converged = 1e-14;  // twice the log likelihood still to be gained
constexpr double step_limit = 4.0;             // logits

struct Evaluation {
  double log_likelihood = 0.0;
  std::vector<double> gradient;
  Arrow information;

  Evaluation(const Split& split, std::size_t n) : gradient(n), information(split) {}
};

/// Adds a score's part. `one` is the case or rater that is eliminated, `other` the one that is kept.
class Adder {
 public:
  Adder(const Layout& layout, Evaluation& to) : layout_(layout), to_(to) {
    cases_go_ = to.information.split.first == 0;
  }

  void add(const Score& s, std::size_t set, std::size_t steps, const Moments& m) {
    const Split& split = to_.information.split;
    const double residual = static_cast<double>(s.level) - m.mean;
    const std::size_t case_place = layout_.case_(s.case_), rater_place = layout_.rater(s.rater);
    to_.gradient[case_place] += residual;
    to_.gradient[rater_place] -= residual;
    const std::size_t one = cases_go_ ? s.case_ : s.rater;
    const std::size_t other = split.kept_place(cases_go_ ? rater_place : case_place);
    const double sign_one = cases_go_ ? 1.0 : -1.0;  // a case raises a score, the rest lower it
    Arrow& a = to_.information;
    double* border = a.border_row(one);
    a.diagonal[one] += m.variance;
    border[other] -= m.variance;
    a.corner(other, other) += m.variance;
    // The kept place of a case or rater comes before items and thresholds: fill (later, earlier).
    if (layout_.items) {
      const std::size_t place = split.kept_place(layout_.item(s.item));
      to_.gradient[layout_.item(s.item)] -= residual;
      border[place] -= sign_one * m.variance;
      a.corner(place, other) += sign_one * m.variance;
      a.corner(place, place) += m.variance;
    }
    const std::size_t first = layout_.threshold(set, 1), first_place = split.kept_place(first);
    for (std::size_t h = 0; h < steps; ++h) {
      to_.gradient[first + h] -= (s.level > h ? 1.0 : 0.0) - m.tail[h];
      border[first_place + h] -= sign_one * m.covariance[h];
      double* row = a.corner.row(first_place + h);
      row[other] += sign_one * m.covariance[h];
      if (layout_.items) row[split.kept_place(layout_.item(s.item))] += m.covariance[h];
      for (std::size_t g = 0; g <= h; ++g) row[first_place + g] += m.tail[h] * (1.0 - m.tail[g]);
    }
  }

 private:
  const Layout& layout_;
  Evaluation& to_;
  bool cases_go_;
};

Evaluation evaluate(const Design& design, const Layout& layout, const std::vector<double>& values) {
  Evaluation result(Split::joint(layout), layout.size());
  Adder adder(layout, result);
  const std::vector<Curve> curves = curves_at(design, layout, values);
  const std::size_t most = design.most_steps();
  std::vector<double> p(most + 1);
  Moments moments(most);
  double u = 0.0, exp_u = 1.0;
  const Score* before = nullptr;
  for (const Score& s : design.scores) {
    if (!before || before->case_ != s.case_ || before->rater != s.rater) {
      u = values[layout.case_(s.case_)] - values[layout.rater(s.rater)];
      exp_u = std::exp(u);
    }
    before = &s;
    const Curve& curve = curves[s.item];
    const double log_sum = curve.probabilities(u, exp_u, p.data());
    result.log_likelihood += curve.log_probability(s.level, u, log_sum);
    moments.take(p.data(), curve.steps());
    adder.add(s, design.set_of[s.item], curve.steps(), moments);
  }
  return result;
}

double largest(const std::vector<double>& values, const std::vector<bool>& redundant) {
  double most = 0.0;
  for (std::size_t i = 0; i < values.size(); ++i)
    if (!redundant[i]) most = std::max(most, std::abs(values[i]));
  return most;
}

std::vector<bool> kept_only(const std::vector<bool>& redundant, const Split& split) {
  std::vector<bool> kept(split.kept);
  for (std::size_t p = 0; p < redundant.size(); ++p)
    if (!split.is_eliminated(p)) kept[split.kept_place(p)] = redundant[p];
  return kept;
}

/// Whether some eliminated parameter has no information left: its scores are all but certain.
bool without_information(const Arrow& arrow) {
  return std::ranges::any_of(arrow.diagonal, [](double d) { return !(d > 1e-9); });
}

/// Goes along the step as far as the log likelihood rises.
void advance(const Design& design, const Layout& layout, const std::vector<double>& step, double share,
             bool near, std::vector<double>& values, Evaluation& now) {
  for (int halving = 0; halving < 40; ++halving, share /= 2) {
    std::vector<double> next = values;
    for (std::size_t p = 0; p < next.size(); ++p) next[p] += share * step[p];
    Evaluation then = evaluate(design, layout, next);
    // Near the maximum the gain is below the rounding of the log likelihood itself.
    if (then.log_likelihood < now.log_likelihood && !near) continue;
    values = std::move(next);
    now = std::move(then);
    return;
  }
}

}  // namespace

Fitted fit_joint(const Design& design, const Layout& layout, const Links& links,
                 std::size_t most_iterations) {
  Fitted fitted;
  fitted.values.assign(layout.size(), 0.0);
  if (design.scores.empty()) return fitted;
  const std::vector<bool> fixed = kept_only(links.redundant, Split::joint(layout));
  Evaluation now = evaluate(design, layout, fitted.values);
  Convergence& c = fitted.convergence;
  c.outcome = Outcome::out_of_steps;
  while (c.outcome == Outcome::out_of_steps && c.iterations < most_iterations) {
    ++c.iterations;
    if (without_information(now.information)) {
      c.outcome = Outcome::diverging;
      break;
    }
    const ArrowInverse inverse(now.information, fixed);
    if (!inverse.positive_definite()) {
      c.outcome = Outcome::diverging;
      break;
    }
    const std::vector<double> step = inverse.solve(now.gradient);
    const double decrement = std::inner_product(step.begin(), step.end(), now.gradient.begin(), 0.0);
    const double share = std::min(1.0, step_limit / largest(step, links.redundant));
    advance(design, layout, step, share, decrement < 1e-6, fitted.values, now);
    if (decrement < decrement_converged) c.outcome = Outcome::converged;
  }
  c.gradient_norm = largest(now.gradient, links.redundant);
  c.log_likelihood = now.log_likelihood;
  if (c.outcome == Outcome::diverging) return fitted;
  const ArrowInverse inverse(now.information, fixed);
  if (!inverse.positive_definite()) c.outcome = Outcome::diverging;
  fitted.covariance = Covariance(inverse, 0);
  return fitted;
}

}  // namespace evenhand::severity
