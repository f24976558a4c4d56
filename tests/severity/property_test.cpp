#include <catch2/catch.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "data.hpp"
#include "severity/quadrature.hpp"
#include "severity/severity.hpp"

using namespace evenhand;
using severity::Estimator;
using severity::Measured;
using severity::Model;
using severity::Options;
using severity::Score;

namespace {

const std::array<Options, 4> every_way = {
    Options{.model = Model::partial_credit, .estimator = Estimator::joint},
    Options{.model = Model::partial_credit, .estimator = Estimator::marginal},
    Options{.model = Model::common_thresholds, .estimator = Estimator::joint},
    Options{.model = Model::common_thresholds, .estimator = Estimator::marginal}};

struct Drawn {
  std::size_t cases = 12, raters = 5, items = 3, levels = 4;
  std::vector<Score> scores;
};

Drawn drawn(std::uint64_t seed, double missing = 0.2) {
  base::Random random(seed, 7);
  Drawn d;
  const auto truth = test::truth_of({d.cases, d.raters, d.items, d.levels - 1, 1.0, 0.5}, random);
  d.scores = test::scores_from(truth, random, missing);
  return d;
}

severity::Severity fit_of(const Drawn& d, const Options& options,
                          std::optional<std::size_t> key = std::nullopt) {
  return severity::severity(test::ratings_from(d.cases, d.raters, d.items, d.levels, d.scores, key), options);
}

void same(const Measured& a, const Measured& b, double margin = 1e-8) {
  REQUIRE(a.estimate.defined() == b.estimate.defined());
  if (!a.estimate) return;
  CHECK(*a.estimate == Approx(*b.estimate).margin(margin));
  CHECK(*a.se == Approx(*b.se).margin(margin));
}

}  // namespace

TEST_CASE("new names and another order of cases, raters and items change nothing", "[property]") {
  for (const auto& options : every_way)
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
      const Drawn before = drawn(seed);
      Drawn after = before;
      base::Random random(seed, 8);
      const auto shuffled = [&](std::size_t n) {
        std::vector<std::uint32_t> places(n);
        std::iota(places.begin(), places.end(), 0U);
        random.shuffle(std::span(places));
        return places;
      };
      const auto cases = shuffled(before.cases), raters = shuffled(before.raters),
                 items = shuffled(before.items);
      for (Score& s : after.scores) s = {cases[s.case_], raters[s.rater], items[s.item], s.level};
      random.shuffle(std::span(after.scores));
      const auto a = fit_of(before, options), b = fit_of(after, options);
      for (std::size_t r = 0; r < before.raters; ++r) {
        same(a.raters[r].severity, b.raters[raters[r]].severity);
        same(a.raters[r].points, b.raters[raters[r]].points);
      }
      for (std::size_t c = 0; c < before.cases; ++c) same(a.cases[c].location, b.cases[cases[c]].location);
      for (std::size_t i = 0; i < before.items; ++i) {
        same(a.items[i].location, b.items[items[i]].location);
        CHECK(*a.items[i].fit.infit == Approx(*b.items[items[i]].fit.infit));
      }
    }
}

TEST_CASE("turning the scale around turns every severity around", "[property]") {
  for (const auto& options : every_way) {
    const Drawn before = drawn(3);
    Drawn after = before;
    for (Score& s : after.scores) s.level = static_cast<std::uint32_t>(before.levels - 1) - s.level;
    const auto a = fit_of(before, options), b = fit_of(after, options);
    for (std::size_t r = 0; r < before.raters; ++r) {
      CHECK(*a.raters[r].severity.estimate == Approx(-*b.raters[r].severity.estimate).margin(1e-7));
      CHECK(*a.raters[r].severity.se == Approx(*b.raters[r].severity.se).margin(1e-7));
      CHECK(*a.raters[r].points.estimate == Approx(-*b.raters[r].points.estimate).margin(1e-7));
    }
  }
}

TEST_CASE("a rater who copies another gets the same severity", "[property]") {
  for (const auto& options : every_way)
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
      Drawn d = drawn(seed);
      const auto n = d.scores.size();
      for (std::size_t i = 0; i < n; ++i)
        if (d.scores[i].rater == 2) {
          Score copy = d.scores[i];
          copy.rater = static_cast<std::uint32_t>(d.raters);
          d.scores.push_back(copy);
        }
      ++d.raters;
      const auto fit = fit_of(d, options);
      same(fit.raters[2].severity, fit.raters.back().severity);
      same(fit.raters[2].points, fit.raters.back().points);
    }
}

TEST_CASE("raising a rater's scores never makes the rater more severe", "[property]") {
  for (const auto& options : every_way)
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
      const Drawn before = drawn(seed);
      Drawn after = before;
      base::Random random(seed, 9);
      for (Score& s : after.scores)
        if (s.rater == 1 && s.level + 1 < after.levels && random.chance(0.4)) ++s.level;
      const auto a = fit_of(before, options), b = fit_of(after, options);
      if (a.raters[1].severity.estimate && b.raters[1].severity.estimate)
        CHECK(*b.raters[1].severity.estimate <= *a.raters[1].severity.estimate + 1e-9);
    }
}

TEST_CASE("severities sum to zero, and the key is outside that sum", "[property]") {
  for (const auto& options : every_way) {
    const Drawn d = drawn(4);
    double sum = 0.0;
    for (const auto& r : fit_of(d, options).raters) sum += *r.severity.estimate;
    CHECK(sum == Approx(0.0).margin(1e-10));

    const auto fit = fit_of(d, options, 3);
    sum = 0.0;
    for (std::size_t r = 0; r < d.raters; ++r)
      if (r != 3) sum += *fit.raters[r].severity.estimate;
    CHECK(sum == Approx(0.0).margin(1e-10));
    CHECK(fit.group_shift.raters == d.raters - 1);
    CHECK(*fit.group_shift.logits.estimate == Approx(-*fit.raters[3].severity.estimate));
    CHECK(*fit.group_shift.logits.se == Approx(*fit.raters[3].severity.se));
    double mean = 0.0;
    for (std::size_t r = 0; r < d.raters; ++r)
      if (r != 3) mean += *fit.raters[r].against_key.estimate / static_cast<double>(d.raters - 1);
    CHECK(mean == Approx(*fit.group_shift.logits.estimate));
  }
}

TEST_CASE("which rater is the key moves nothing but the zero", "[property]") {
  for (const auto& options : every_way) {
    const Drawn d = drawn(5);
    const auto a = fit_of(d, options), b = fit_of(d, options, 0);
    CHECK(a.convergence.log_likelihood == Approx(b.convergence.log_likelihood).epsilon(1e-12));
    for (std::size_t r = 1; r < d.raters; ++r) {
      CHECK(*b.raters[r].against_key.estimate ==
            Approx(*a.raters[r].severity.estimate - *a.raters[0].severity.estimate).margin(1e-8));
      CHECK(*b.raters[r].fit.outfit == Approx(*a.raters[r].fit.outfit));
    }
  }
}

TEST_CASE("at the joint maximum expected totals are the observed ones", "[property]") {
  // Points of a rater against the key, where both scored the same cases and items: the difference of
  // what the model expects of the rater and of the key, whose totals it reproduces.
  const Drawn d = drawn(6, 0.0);
  const auto fit = fit_of(d, every_way[0], 0);
  REQUIRE(fit.used == fit.scores);
  std::array<double, 5> total{};
  for (const Score& s : d.scores) total[s.rater] += s.level;
  const double n = static_cast<double>(d.cases * d.items);
  for (std::size_t r = 1; r < d.raters; ++r)
    CHECK(*fit.raters[r].points_against_key.estimate == Approx((total[r] - total[0]) / n).margin(1e-7));
  const double others = (total[1] + total[2] + total[3] + total[4]) / 4.0;
  CHECK(*fit.group_shift.points.estimate == Approx((others - total[0]) / n).margin(0.02));
}

TEST_CASE("at the joint maximum the error of points is that of the totals under the model", "[property]") {
  // Totals are sufficient, so the delta method must give back their own variance: the sum of the
  // variances of both raters' scores, as no covariance between scores is in the model.
  const Drawn d = drawn(6, 0.0);
  const auto fit = fit_of(d, every_way[0], 0);
  std::array<double, 5> variance{};
  for (const Score& s : d.scores) {
    double weight = 1.0, sum = 1.0, mean = 0.0, squares = 0.0, k = 0.0;
    for (const auto& t : fit.items[s.item].thresholds) {
      weight *= std::exp(*fit.cases[s.case_].location.estimate - *t.threshold.estimate -
                         *fit.raters[s.rater].severity.estimate);
      k += 1.0;
      sum += weight;
      mean += k * weight;
      squares += k * k * weight;
    }
    variance[s.rater] += squares / sum - mean * mean / (sum * sum);
  }
  const double n = static_cast<double>(d.cases * d.items);
  for (std::size_t r = 1; r < d.raters; ++r)
    CHECK(*fit.raters[r].points_against_key.se ==
          Approx(std::sqrt(variance[r] + variance[0]) / n).epsilon(1e-7));
}

TEST_CASE("more quadrature points change no digit that counts", "[property]") {
  for (const double missing : {0.0, 0.7})
    for (std::uint64_t seed = 1; seed <= 4; ++seed) {
      const Drawn d = drawn(seed, missing);
      Options options = every_way[1];
      const auto usual = fit_of(d, options);
      options.points = 81;
      const auto many = fit_of(d, options);
      for (std::size_t r = 0; r < d.raters; ++r)
        same(usual.raters[r].severity, many.raters[r].severity, 1e-6);
      CHECK(usual.convergence.log_likelihood == Approx(many.convergence.log_likelihood).epsilon(1e-8));
    }
}

TEST_CASE("the quadrature gives the moments of the normal distribution", "[property]") {
  for (const std::size_t n : {1U, 2U, 3U, 7U, 11U, 21U, 81U, 100U}) {
    const auto rule = severity::normal_quadrature(n);
    REQUIRE(rule.points.size() == n);
    double moment = 1.0;  // (2m - 1)!!
    for (std::size_t m = 0; m < n && m < 8; ++m) {
      if (m > 0) moment *= static_cast<double>(2 * m - 1);
      double sum = 0.0;
      for (std::size_t q = 0; q < n; ++q)
        sum += std::exp(rule.log_weights[q]) * std::pow(rule.points[q], static_cast<double>(2 * m));
      CHECK(sum == Approx(moment).epsilon(1e-11));
    }
  }
}
