#include "stats/reml.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "stats/mean_squares.hpp"
#include "stats/reml_level_sums.hpp"

using namespace evenhand;
using namespace evenhand::stats;

namespace {

using Levels = std::vector<std::uint32_t>;

struct Data {
  std::vector<double> y;
  std::array<Levels, 3> level;
};

RemlResult fit(const Data& d, int factors) {
  if (factors == 1) return reml_one_way(d.y, d.level[0]);
  if (factors == 2) return reml_two_way(d.y, d.level[0], d.level[1]);
  return reml_three_way(d.y, d.level[0], d.level[1], d.level[2]);
}

/// Random effects with the given standard deviations (main effects, pairs, residual), cells left out at
/// random.
Data draw(base::Random& random, std::array<std::size_t, 3> n, std::array<double, 7> sd, double gaps) {
  std::array<std::vector<double>, 6> effect;
  const std::array sizes{n[0], n[1], n[2], n[0] * n[1], n[0] * n[2], n[1] * n[2]};
  for (std::size_t t = 0; t < 6; ++t)
    for (std::size_t i = 0; i < sizes[t]; ++i) effect[t].push_back(random.normal(0.0, sd[t]));
  Data d;
  for (std::size_t i = 0; i < n[0]; ++i)
    for (std::size_t j = 0; j < n[1]; ++j)
      for (std::size_t k = 0; k < n[2]; ++k) {
        if (random.chance(gaps)) continue;
        d.y.push_back(effect[0][i] + effect[1][j] + effect[2][k] + effect[3][i * n[1] + j] +
                      effect[4][i * n[2] + k] + effect[5][j * n[2] + k] + random.normal(0.0, sd[6]));
        d.level[0].push_back(static_cast<std::uint32_t>(i));
        d.level[1].push_back(static_cast<std::uint32_t>(j));
        d.level[2].push_back(static_cast<std::uint32_t>(k));
      }
  return d;
}

// The slow computation: the full covariance matrix of the values, inverted by Gauss and Jordan.
using Matrix = std::vector<std::vector<double>>;

Matrix inverse(Matrix a, double& log_determinant) {
  const std::size_t n = a.size();
  Matrix b(n, std::vector<double>(n));
  log_determinant = 0.0;
  for (std::size_t i = 0; i < n; ++i) b[i][i] = 1.0;
  for (std::size_t k = 0; k < n; ++k) {
    const double pivot = a[k][k];
    log_determinant += std::log(pivot);
    for (std::size_t j = 0; j < n; ++j) {
      a[k][j] /= pivot;
      b[k][j] /= pivot;
    }
    for (std::size_t i = 0; i < n; ++i) {
      const double factor = a[i][k];
      if (i == k || factor == 0.0) continue;
      for (std::size_t j = 0; j < n; ++j) {
        a[i][j] -= factor * a[k][j];
        b[i][j] -= factor * b[k][j];
      }
    }
  }
  return b;
}

Matrix times(const Matrix& a, const Matrix& b) {
  Matrix c(a.size(), std::vector<double>(b.size()));
  for (std::size_t i = 0; i < a.size(); ++i)
    for (std::size_t k = 0; k < b.size(); ++k)
      if (a[i][k] != 0.0)
        for (std::size_t j = 0; j < b.size(); ++j) c[i][j] += a[i][k] * b[k][j];
  return c;
}

/// Matrices of the terms, residual last: 1 where two values share the level.
std::vector<Matrix> term_matrices(const Data& d, int factors) {
  const std::vector<std::vector<std::size_t>> shared =
      factors == 1   ? std::vector<std::vector<std::size_t>>{{0}}
      : factors == 2 ? std::vector<std::vector<std::size_t>>{{0}, {1}}
                     : std::vector<std::vector<std::size_t>>{{0}, {1}, {2}, {0, 1}, {0, 2}, {1, 2}};
  const std::size_t n = d.y.size();
  std::vector<Matrix> all;
  for (const auto& which : shared) {
    all.emplace_back(n, std::vector<double>(n));
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = 0; j < n; ++j)
        all.back()[i][j] =
            std::ranges::all_of(which, [&](std::size_t f) { return d.level[f][i] == d.level[f][j]; });
  }
  all.emplace_back(n, std::vector<double>(n));
  for (std::size_t i = 0; i < n; ++i) all.back()[i][i] = 1.0;
  return all;
}

struct Slow {
  double deviance;
  Matrix p;
};

Slow slow_at(const Data& d, const std::vector<Matrix>& terms, const std::vector<double>& variance) {
  const std::size_t n = d.y.size();
  Matrix v(n, std::vector<double>(n));
  for (std::size_t t = 0; t < terms.size(); ++t)
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = 0; j < n; ++j) v[i][j] += variance[t] * terms[t][i][j];
  double log_v = 0.0, total = 0.0;
  Slow slow{0.0, inverse(v, log_v)};
  std::vector<double> sums(n);
  for (std::size_t i = 0; i < n; ++i)
    total += sums[i] = std::accumulate(slow.p[i].begin(), slow.p[i].end(), 0.0);
  double squares = 0.0;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) {
      slow.p[i][j] -= sums[i] * sums[j] / total;
      squares += d.y[i] * slow.p[i][j] * d.y[j];
    }
  slow.deviance =
      static_cast<double>(n - 1) * std::log(2.0 * std::numbers::pi) + log_v + std::log(total) + squares;
  return slow;
}

/// Fisher scoring with the textbook formulas on full matrices; a term that would fall below 0 and is
/// pushed there is held at 0.
std::vector<double> slow_fit(const Data& d, int factors) {
  const auto terms = term_matrices(d, factors);
  const std::size_t m = terms.size();
  std::vector<double> v(m, 1.0);
  double deviance = slow_at(d, terms, v).deviance;
  for (int round = 0; round < 300; ++round) {
    const Slow at = slow_at(d, terms, v);
    std::vector<Matrix> pv;
    std::vector<double> score(m);
    std::vector<std::size_t> free;
    for (std::size_t t = 0; t < m; ++t) {
      pv.push_back(times(at.p, terms[t]));
      const Matrix pvp = times(pv[t], at.p);
      for (std::size_t i = 0; i < d.y.size(); ++i) {
        score[t] -= pv[t][i][i];
        for (std::size_t j = 0; j < d.y.size(); ++j) score[t] += d.y[i] * pvp[i][j] * d.y[j];
      }
      if (v[t] > 0.0 || score[t] > 0.0) free.push_back(t);
    }
    Matrix information(free.size(), std::vector<double>(free.size()));
    for (std::size_t a = 0; a < free.size(); ++a)
      for (std::size_t b = 0; b < free.size(); ++b)
        for (std::size_t i = 0; i < d.y.size(); ++i)
          for (std::size_t j = 0; j < d.y.size(); ++j)
            information[a][b] += pv[free[a]][i][j] * pv[free[b]][j][i];
    double ignored = 0.0;
    const Matrix solve = inverse(information, ignored);
    double moved = 0.0;
    for (double length = 1.0; length > 1e-6; length /= 2.0) {
      std::vector<double> next = v;
      for (std::size_t a = 0; a < free.size(); ++a)
        for (std::size_t b = 0; b < free.size(); ++b) next[free[a]] += length * solve[a][b] * score[free[b]];
      for (double& x : next) x = std::max(x, 0.0);
      next[m - 1] = std::max(next[m - 1], 0.1 * v[m - 1]);
      const double there = slow_at(d, terms, next).deviance;
      if (there > deviance + 1e-11) continue;
      for (std::size_t t = 0; t < m; ++t) moved = std::max(moved, std::abs(next[t] - v[t]));
      v = next;
      deviance = there;
      break;
    }
    if (moved < 1e-11) break;
  }
  return v;
}

void compare_with_slow(const Data& d, int factors) {
  const auto fast = fit(d, factors);
  REQUIRE(fast);
  REQUIRE(fast->converged);
  const auto slow = slow_fit(d, factors);
  const double all = std::accumulate(slow.begin(), slow.end(), 0.0);
  for (std::size_t t = 0; t < slow.size(); ++t) {
    INFO("factors " << factors << ", values " << d.y.size() << ", term " << t);
    CHECK(fast->variance[t] == Approx(slow[t]).margin(1e-6 * all).epsilon(0));
  }
  if (!fast->deviance) return;
  const auto terms = term_matrices(d, factors);
  CHECK(*fast->deviance == Approx(slow_at(d, terms, fast->variance).deviance).epsilon(1e-9));
  CHECK(*fast->deviance <= slow_at(d, terms, slow).deviance + 1e-8);
}

std::array<double, 7> random_spread(base::Random& random) {
  std::array<double, 7> sd{};
  for (double& x : sd) x = random.chance(0.2) ? 0.0 : 0.3 + 2.0 * random.uniform();
  sd[6] = 0.5 + random.uniform();
  return sd;
}

Data table_of(std::initializer_list<std::initializer_list<double>> rows) {
  Data d;
  std::uint32_t i = 0;
  for (const auto& row : rows) {
    std::uint32_t j = 0;
    for (const double x : row) {
      if (!std::isnan(x)) {
        d.y.push_back(x);
        d.level[0].push_back(i);
        d.level[1].push_back(j);
      }
      ++j;
    }
    ++i;
  }
  return d;
}

constexpr double none = std::numeric_limits<double>::quiet_NaN();

RemlProblem problem_of(const RemlResult& result) {
  REQUIRE_FALSE(result);
  return result.error();
}

}  // namespace

TEST_CASE("one-way components equal those of the full covariance matrix") {
  base::Random random(11);
  for (int t = 0; t < 12; ++t)
    compare_with_slow(draw(random, {4 + random.index(6), 2 + random.index(4), 1}, random_spread(random), 0.2),
                      1);
}

TEST_CASE("two-way components equal those of the full covariance matrix") {
  base::Random random(12);
  for (int t = 0; t < 20; ++t) {
    auto sd = random_spread(random);
    sd[3] = 0.0;
    compare_with_slow(draw(random, {3 + random.index(6), 3 + random.index(4), 1}, sd, 0.2), 2);
  }
}

TEST_CASE("three-way components equal those of the full covariance matrix") {
  base::Random random(13);
  for (int t = 0; t < 8; ++t)
    compare_with_slow(draw(random, {3 + random.index(3), 3 + random.index(2), 3}, random_spread(random), 0.1),
                      3);
}

TEST_CASE("complete three-way data with a component at 0 equal those of the full covariance matrix") {
  base::Random random(15);
  std::size_t bounded = 0;
  for (int t = 0; t < 6; ++t) {
    const Data d = draw(random, {5, 3, 3}, {1.0, 0.0, 1.0, 0.0, 0.5, 0.0, 1.0}, 0.0);
    compare_with_slow(d, 3);
    const auto result = fit(d, 3);
    bounded += std::ranges::count(result->at_bound, true) > 0 && !result->closed_form;
  }
  CHECK(bounded >= 3);
}

TEST_CASE("repeated values in a cell are fitted like any other") {
  base::Random random(14);
  Data d = draw(random, {5, 4, 3}, {1.0, 0.7, 0.0, 0.0, 0.0, 0.0, 0.8}, 0.3);
  compare_with_slow(d, 2);
}

TEST_CASE("balanced data give the expected mean squares when none is negative", "[property]") {
  base::Random random(21);
  std::size_t compared = 0;
  for (int t = 0; t < 20; ++t) {
    const Data d = draw(random, {8, 5, 1}, {1.0, 0.6, 0.0, 0.0, 0.0, 0.0, 0.9}, 0.0);
    const auto s = two_way_mean_squares(d.y, 8, 5);
    REQUIRE(s);
    if (s->row < s->residual || s->column < s->residual) continue;
    ++compared;
    const auto result = fit(d, 2);
    REQUIRE(result);
    CHECK(result->variance[0] == Approx((s->row - s->residual) / 5.0).epsilon(1e-9));
    CHECK(result->variance[1] == Approx((s->column - s->residual) / 8.0).epsilon(1e-9));
    CHECK(result->variance[2] == Approx(s->residual).epsilon(1e-9));
    // Var(MS) = 2 MS^2 / df, mean squares independent.
    const double vr = 2.0 * s->row * s->row / 7.0, ve = 2.0 * s->residual * s->residual / 28.0;
    CHECK(result->covariance(0, 0) == Approx((vr + ve) / 25.0).epsilon(1e-8));
    CHECK(result->covariance(0, 2) == Approx(-ve / 5.0).epsilon(1e-8));
    CHECK(result->covariance(2, 2) == Approx(ve).epsilon(1e-8));
  }
  CHECK(compared > 10);
}

TEST_CASE("the three-way likelihood agrees with the closed form of complete data", "[property]") {
  base::Random random(22);
  Data d;
  RemlResult closed = tl::unexpected(RemlProblem::no_variation);
  for (int t = 0; t < 50 && !(closed && closed->closed_form); ++t) {
    d = draw(random, {6, 5, 4}, {1.0, 1.2, 0.8, 0.7, 0.6, 0.9, 0.5}, 0.0);
    closed = fit(d, 3);
  }
  REQUIRE(closed);
  REQUIRE(closed->closed_form);
  const auto slow = slow_fit(d, 3);
  for (std::size_t t = 0; t < 7; ++t) CHECK(closed->variance[t] == Approx(slow[t]).epsilon(1e-7));
}

TEST_CASE("order and labels of levels, and the order of the factors, do not matter", "[property]") {
  base::Random random(23);
  Data d = draw(random, {7, 5, 4}, {1.0, 1.2, 0.8, 0.7, 0.6, 0.9, 0.5}, 0.15);
  const auto before = fit(d, 3);
  REQUIRE(before);
  Data other;
  std::vector<std::size_t> order(d.y.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  random.shuffle(std::span(order));
  for (const std::size_t i : order) {
    other.y.push_back(d.y[i]);
    other.level[0].push_back(100 - 3 * d.level[1][i]);  // second factor first, renamed
    other.level[1].push_back(4'000'000'000U - d.level[0][i]);
    other.level[2].push_back(d.level[2][i]);
  }
  const auto after = fit(other, 3);
  REQUIRE(after);
  const std::array to{1, 0, 2, 3, 5, 4, 6};
  for (std::size_t t = 0; t < 7; ++t) {
    CHECK(after->variance[static_cast<std::size_t>(to[t])] == Approx(before->variance[t]).epsilon(1e-6));
    CHECK(after->covariance(static_cast<std::size_t>(to[t]), static_cast<std::size_t>(to[t])) ==
          Approx(before->covariance(t, t)).epsilon(1e-5));
  }
  const auto two = reml_two_way(d.y, d.level[0], d.level[1]),
             swapped = reml_two_way(d.y, d.level[1], d.level[0]);
  REQUIRE(two);
  REQUIRE(swapped);
  CHECK(two->variance[0] == Approx(swapped->variance[1]).epsilon(1e-9));
  CHECK(two->variance[1] == Approx(swapped->variance[0]).epsilon(1e-9));
  CHECK(two->covariance(0, 2) == Approx(swapped->covariance(1, 2)).epsilon(1e-8));
}

TEST_CASE("adding a constant changes nothing and doubling the scale makes four times the variance",
          "[property]") {
  base::Random random(24);
  for (const int factors : {1, 2, 3}) {
    const Data d = draw(random, {8, 4, 3}, {1.0, 0.8, 0.5, 0.6, 0.4, 0.3, 0.7}, 0.1);
    Data moved = d, doubled = d;
    for (double& x : moved.y) x += 1000.0;
    for (double& x : doubled.y) x *= 2.0;
    const auto one = fit(d, factors), two = fit(moved, factors), four = fit(doubled, factors);
    REQUIRE((one && two && four));
    const double all = std::accumulate(one->variance.begin(), one->variance.end(), 0.0);
    for (std::size_t t = 0; t < one->variance.size(); ++t) {
      CHECK(two->variance[t] == Approx(one->variance[t]).margin(1e-7 * all).epsilon(0));
      CHECK(four->variance[t] == Approx(4.0 * one->variance[t]).margin(1e-7 * all).epsilon(0));
    }
  }
}

TEST_CASE("a huge mean or a tiny spread keeps its digits", "[property]") {
  base::Random random(25);
  for (const int factors : {1, 2, 3}) {
    const Data d = draw(random, {10, 4, 3}, {1.0, 0.8, 0.5, 0.6, 0.4, 0.3, 0.7}, 0.1);
    Data far = d, small = d;
    for (double& x : far.y) x += 1e9;
    for (double& x : small.y) x *= 1e-9;
    const auto one = fit(d, factors), shifted = fit(far, factors), shrunk = fit(small, factors);
    REQUIRE((one && shifted && shrunk));
    const double all = std::accumulate(one->variance.begin(), one->variance.end(), 0.0);
    for (std::size_t t = 0; t < one->variance.size(); ++t) {
      CHECK(shifted->variance[t] == Approx(one->variance[t]).margin(2e-6 * all).epsilon(0));
      CHECK(shrunk->variance[t] == Approx(1e-18 * one->variance[t]).margin(1e-25 * all).epsilon(0));
    }
  }
}

TEST_CASE("a residual ten thousand times smaller than the cases is found", "[property]") {
  base::Random random(26);
  const Data d = draw(random, {12, 6, 1}, {1.0, 1e-2, 0.0, 0.0, 0.0, 0.0, 1e-4}, 0.15);
  const auto result = fit(d, 2);
  REQUIRE(result);
  CHECK(result->converged);
  CHECK(result->variance[2] == Approx(1e-8).epsilon(0.5));
  CHECK(result->variance[0] == Approx(1.0).epsilon(0.9));
}

TEST_CASE("sums by count equal sums over levels") {
  base::Random random(27);
  const Data d = draw(random, {30, 6, 1}, {1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0}, 0.4);
  const Factor a = factor_of(d.level[0]), b = factor_of(d.level[1]);
  const auto weight = [](double n) { return 1.0 / (1.0 + 0.7 * n); };
  const Dense grouped = LevelSums(a, &b, d.y).weighted(weight),
              plain = LevelSums(a, &b, d.y, 0).weighted(weight);
  for (std::size_t i = 0; i < grouped.rows(); ++i)
    for (std::size_t j = 0; j < grouped.rows(); ++j)
      CHECK(grouped(i, j) == Approx(plain(i, j)).margin(1e-12));
}

TEST_CASE("a component at its bound is 0 and says so", "[edge]") {
  // Rows differ less than chance would have it: the ANOVA component is negative.
  const Data d = table_of({{1, 2, 9}, {2, 9, 1}, {9, 1, 2}, {1, 9, none}});
  const auto result = fit(d, 2);
  REQUIRE(result);
  CHECK(result->variance[0] == 0.0);
  CHECK(result->at_bound[0]);
  CHECK(result->covariance(0, 0) == 0.0);
  CHECK(result->converged);
}

TEST_CASE("a design in parts that share nothing is told", "[edge]") {
  const Data linked = table_of({{1, 2, 4}, {3, 5, 4}, {2, 2, 3}, {5, 4, 6}});
  CHECK(fit(linked, 2)->linked_groups == 1);
  const Data apart =
      table_of({{1, 2, none, none}, {3, 5, none, none}, {none, none, 3, 5}, {none, none, 6, 6}});
  const auto result = fit(apart, 2);
  REQUIRE(result);
  CHECK(result->linked_groups == 2);
}

TEST_CASE("what has no components says why", "[edge]") {
  CHECK(problem_of(fit({}, 1)) == RemlProblem::too_few_levels);
  CHECK(problem_of(fit({}, 3)) == RemlProblem::too_few_levels);
  CHECK(problem_of(fit(table_of({{1, 2, 3}}), 2)) == RemlProblem::too_few_levels);
  CHECK(problem_of(fit(table_of({{1}, {2}, {3}}), 2)) == RemlProblem::too_few_levels);
  CHECK(problem_of(fit(table_of({{1}, {2}, {3}}), 1)) == RemlProblem::no_residual_df);
  CHECK(problem_of(fit(table_of({{1, 2}, {2, none}, {none, 3}}), 2)) == RemlProblem::no_residual_df);
  CHECK(problem_of(fit(table_of({{4, 4}, {4, 4}}), 2)) == RemlProblem::no_variation);
  CHECK(problem_of(fit(table_of({{1, 1}, {2, 2}, {5, 5}}), 1)) == RemlProblem::no_residual);
  Data nested;  // every first level has a third level of its own
  for (std::uint32_t i = 0; i < 6; ++i)
    for (std::uint32_t j = 0; j < 3; ++j) {
      nested.y.push_back(i * 1.7 + (i * j) % 4);
      nested.level[0].push_back(i);
      nested.level[1].push_back(j);
      nested.level[2].push_back(i);
    }
  CHECK(problem_of(fit(nested, 3)) == RemlProblem::confounded);
  for (const auto problem : {RemlProblem::too_few_levels, RemlProblem::no_variation,
                             RemlProblem::no_residual_df, RemlProblem::confounded, RemlProblem::no_residual})
    CHECK_FALSE(text(problem).empty());
}

TEST_CASE("levels that explain every value leave the variance of their effects", "[edge]") {
  // row + column exactly, with a gap: rows 0, 1, 4, columns 0, 2.
  const auto result = fit(table_of({{0, 2}, {1, 3}, {4, 6}, {2, none}}), 2);
  REQUIRE(result);
  CHECK(result->variance[2] == 0.0);
  CHECK(result->variance[0] == Approx(35.0 / 12.0));  // of 0, 1, 4, 2
  CHECK(result->variance[1] == Approx(2.0));
  CHECK_FALSE(result->deviance);
  CHECK(result->closed_form);
}
