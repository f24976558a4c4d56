// The same estimates by a slow and obvious second route: the log likelihood written out score by score,
// maximized by Newton's method with derivatives from differences of it.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <numeric>
#include <vector>

#include "data.hpp"
#include "severity/severity.hpp"

using namespace evenhand;
using severity::Estimator;
using severity::Model;

namespace {

using Vector = std::vector<double>;
using Function = std::function<double(const Vector&)>;

struct Maximum {
  Vector at;
  std::vector<Vector> covariance;
  double value;
  bool found;  ///< the steps came to an end
};

std::vector<Vector> inverse_of(std::vector<Vector> a) {
  const std::size_t n = a.size();
  std::vector<Vector> inverse(n, Vector(n));
  for (std::size_t i = 0; i < n; ++i) inverse[i][i] = 1.0;
  for (std::size_t k = 0; k < n; ++k) {
    std::size_t pivot = k;
    for (std::size_t i = k; i < n; ++i)
      if (std::abs(a[i][k]) > std::abs(a[pivot][k])) pivot = i;
    std::swap(a[k], a[pivot]);
    std::swap(inverse[k], inverse[pivot]);
    const double divisor = a[k][k];
    for (std::size_t j = 0; j < n; ++j) a[k][j] /= divisor, inverse[k][j] /= divisor;
    for (std::size_t i = 0; i < n; ++i) {
      if (i == k) continue;
      const double factor = a[i][k];
      for (std::size_t j = 0; j < n; ++j)
        a[i][j] -= factor * a[k][j], inverse[i][j] -= factor * inverse[k][j];
    }
  }
  return inverse;
}

Maximum maximum_of(const Function& f, Vector x) {
  const std::size_t n = x.size();
  std::vector<Vector> covariance;
  bool found = false;
  for (int round = 0; round < 60; ++round) {
    const auto at = [&](std::size_t i, double di, std::size_t j, double dj) {
      Vector y = x;
      y[i] += di;
      y[j] += dj;
      return f(y);
    };
    Vector gradient(n);
    std::vector<Vector> information(n, Vector(n));
    const double h = 1e-3;
    // Fourth-order differences for the gradient, which decides where the maximum is.
    for (std::size_t i = 0; i < n; ++i)
      gradient[i] =
          (8.0 * (at(i, h, i, 0) - at(i, -h, i, 0)) - (at(i, 2 * h, i, 0) - at(i, -2 * h, i, 0))) / (12 * h);
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = 0; j <= i; ++j)
        information[i][j] = information[j][i] =
            -(at(i, h, j, h) - at(i, h, j, -h) - at(i, -h, j, h) + at(i, -h, j, -h)) / (4 * h * h);
    covariance = inverse_of(information);
    double moved = 0.0;
    Vector step(n);
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = 0; j < n; ++j) step[i] += covariance[i][j] * gradient[j];
    for (const double s : step) moved = std::max(moved, std::abs(s));
    if (std::inner_product(step.begin(), step.end(), gradient.begin(), 0.0) < 0.0)
      step = gradient;  // not concave here
    double share = std::min(1.0, 1.0 / moved);
    const double now = f(x);
    for (int halving = 0; halving < 30; ++halving, share /= 2) {
      Vector next = x;
      for (std::size_t i = 0; i < n; ++i) next[i] += share * step[i];
      if (moved > 1e-4 && f(next) < now) continue;
      x = next;
      break;
    }
    found = moved < 1e-9;
    if (found) break;
  }
  return {x, covariance, f(x), found};
}

/// A list that sums to zero, from all but its last.
Vector with_last(const double* first, std::size_t n) {
  Vector all(first, first + (n - 1));
  all.push_back(-std::accumulate(all.begin(), all.end(), 0.0));
  return all;
}

double log_probability(double location, double severity, const Vector& thresholds, std::uint32_t level) {
  double sum = 1.0, log_weight = 0.0, own = 0.0;
  for (std::size_t h = 0; h < thresholds.size(); ++h) {
    log_weight += location - severity - thresholds[h];
    sum += std::exp(log_weight);
    if (level == h + 1) own = log_weight;
  }
  return own - std::log(sum);
}

struct Small {
  std::size_t cases = 5, raters = 3, items = 2, steps = 2;
  std::vector<severity::Score> scores;
};

Small small_set(std::uint64_t seed) {
  base::Random random(seed, 1);
  Small small;
  const auto truth = test::truth_of({small.cases, small.raters, small.items, small.steps, 0.8, 0.5}, random);
  small.scores = test::scores_from(truth, random, 0.1);
  return small;
}

/// Adds cases that have the scores of the first.
void repeat_first_case(Small& small, std::size_t times) {
  for (const auto& score : std::vector<severity::Score>(small.scores))
    for (std::size_t i = 0; score.case_ == 0 && i < times; ++i) {
      small.scores.push_back(score);
      small.scores.back().case_ = static_cast<std::uint32_t>(small.cases + i);
    }
  small.cases += times;
}

std::vector<Vector> thresholds_from(const double* first, const Small& s, bool common) {
  if (!common) {
    std::vector<Vector> all;
    for (std::size_t i = 0; i < s.items; ++i, first += s.steps) all.emplace_back(first, first + s.steps);
    return all;
  }
  // Items first (they sum to zero), then the thresholds.
  const Vector items = with_last(first, s.items);
  std::vector<Vector> all(s.items, Vector(first + s.items - 1, first + s.items - 1 + s.steps));
  for (std::size_t i = 0; i < s.items; ++i)
    for (double& t : all[i]) t += items[i];
  return all;
}

bool everything_in(const severity::Severity& fit) {
  return fit.used == fit.scores && fit.convergence.outcome == severity::Outcome::converged &&
         fit.linkage.linked &&
         std::ranges::all_of(fit.items, [](const auto& i) { return i.unused_levels.empty(); });
}

}  // namespace

TEST_CASE("joint estimates and errors are those of a slow second computation", "[reference]") {
  int compared = 0;
  for (std::uint64_t seed = 1; seed <= 60 && compared < 12; ++seed)
    for (const bool common : {false, true}) {
      const Small s = small_set(seed);
      const auto fit =
          severity::severity(test::ratings_from(s.cases, s.raters, s.items, s.steps + 1, s.scores),
                             {.model = common ? Model::common_thresholds : Model::partial_credit,
                              .estimator = Estimator::joint});
      if (!everything_in(fit)) continue;
      const std::size_t rest = common ? s.items - 1 + s.steps : s.items * s.steps;
      const Function f = [&](const Vector& x) {
        const Vector cases = with_last(x.data(), s.cases);
        const Vector raters = with_last(x.data() + s.cases - 1, s.raters);
        const auto thresholds = thresholds_from(x.data() + s.cases + s.raters - 2, s, common);
        double sum = 0.0;
        for (const auto& score : s.scores)
          sum +=
              log_probability(cases[score.case_], raters[score.rater], thresholds[score.item], score.level);
        return sum;
      };
      const Maximum slow = maximum_of(f, Vector(s.cases + s.raters - 2 + rest));
      INFO("seed " << seed << (common ? " common" : " partial credit"));
      ++compared;
      CHECK(fit.convergence.log_likelihood == Approx(slow.value).epsilon(1e-10));
      const auto same = [&](const severity::Measured& m, std::size_t place) {
        CHECK(std::abs(*m.estimate - slow.at[place]) < 1e-6 * (1.0 + std::abs(slow.at[place])));
        CHECK(*m.se == Approx(std::sqrt(slow.covariance[place][place])).epsilon(1e-4));
      };
      for (std::size_t c = 0; c + 1 < s.cases; ++c) same(fit.cases[c].location, c);
      for (std::size_t r = 0; r + 1 < s.raters; ++r) same(fit.raters[r].severity, s.cases - 1 + r);
      const std::size_t first = s.cases + s.raters - 2;
      if (common) {
        same(fit.items[0].location, first);
        for (std::size_t h = 0; h < s.steps; ++h) same(fit.thresholds[h].threshold, first + 1 + h);
      } else {
        for (std::size_t i = 0; i < s.items; ++i)
          for (std::size_t h = 0; h < s.steps; ++h)
            same(fit.items[i].thresholds[h].threshold, first + i * s.steps + h);
      }
    }
  CHECK(compared >= 12);
}

TEST_CASE("marginal estimates and errors are those of a slow second computation", "[reference]") {
  int compared = 0;
  for (std::uint64_t seed = 1; seed <= 60 && compared < 4; ++seed)
    for (const bool common : {false, true}) {
      Small s = small_set(seed);
      repeat_first_case(s, 2);
      const auto fit =
          severity::severity(test::ratings_from(s.cases, s.raters, s.items, s.steps + 1, s.scores),
                             {.model = common ? Model::common_thresholds : Model::partial_credit,
                              .estimator = Estimator::marginal});
      if (!everything_in(fit) || *fit.case_sd.estimate < 0.3) continue;
      const std::size_t rest = common ? s.items - 1 + s.steps : s.items * s.steps;
      // The integral over each case by a fine, equally spaced sum.
      const Function f = [&](const Vector& x) {
        const Vector raters = with_last(x.data(), s.raters);
        const auto thresholds = thresholds_from(x.data() + s.raters - 1, s, common);
        const double sd = std::exp(x.back());
        double total = 0.0;
        for (std::size_t c = 0; c < s.cases; ++c) {
          double mass = 0.0;
          for (int q = -100; q <= 100; ++q) {
            const double z = 0.09 * q;
            double log_likelihood = -0.5 * z * z;
            for (const auto& score : s.scores)
              if (score.case_ == c)
                log_likelihood +=
                    log_probability(z * sd, raters[score.rater], thresholds[score.item], score.level);
            mass += 0.09 / std::sqrt(2.0 * std::numbers::pi) * std::exp(log_likelihood);
          }
          total += std::log(mass);
        }
        return total;
      };
      const Maximum slow = maximum_of(f, Vector(s.raters - 1 + rest + 1));
      if (!slow.found) continue;  // it went astray where the likelihood is not concave
      INFO("seed " << seed << (common ? " common" : " partial credit"));
      ++compared;
      CHECK(fit.convergence.log_likelihood == Approx(slow.value).epsilon(1e-9));
      const auto same = [&](const severity::Measured& m, std::size_t place) {
        CHECK(std::abs(*m.estimate - slow.at[place]) < 1e-6 * (1.0 + std::abs(slow.at[place])));
        CHECK(*m.se == Approx(std::sqrt(slow.covariance[place][place])).epsilon(1e-4));
      };
      for (std::size_t r = 0; r + 1 < s.raters; ++r) same(fit.raters[r].severity, r);
      const std::size_t first = s.raters - 1;
      if (common) {
        same(fit.items[0].location, first);
        for (std::size_t h = 0; h < s.steps; ++h) same(fit.thresholds[h].threshold, first + 1 + h);
      } else {
        for (std::size_t i = 0; i < s.items; ++i)
          for (std::size_t h = 0; h < s.steps; ++h)
            same(fit.items[i].thresholds[h].threshold, first + i * s.steps + h);
      }
      CHECK(std::abs(std::log(*fit.case_sd.estimate) - slow.at.back()) < 1e-6);
      CHECK(*fit.case_sd.se ==
            Approx(*fit.case_sd.estimate * std::sqrt(slow.covariance.back().back())).epsilon(1e-4));
    }
  CHECK(compared >= 4);
}
