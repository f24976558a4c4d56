#include "agreement/cusum.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "stats/distributions.hpp"

namespace evenhand::agreement {
namespace {

// Montgomery DC, Introduction to Statistical Quality Control, chapter 9: 30 values, the last ten drawn after
// a shift of one SD. Published: with mean 10, SD 1, k = .5, h = 5 the chart signals at 29, C+ 5.28, N+ 7, so
// the shift came after 22. (The data stand in the manual of a chart library too, IMSL C#, "EWMA".)
const std::vector<double> montgomery{9.45,  7.99,  9.29,  11.66, 12.16, 10.18, 8.04,  11.46, 9.20,  10.34,
                                     9.03,  11.47, 10.51, 9.40,  10.08, 9.37,  10.62, 10.31, 8.52,  10.84,
                                     10.90, 9.33,  12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52};

/// Errors that stand for a standard normal distribution.
std::vector<double> normal_errors() {
  std::vector<double> errors;
  for (int i = 0; i < 5000; ++i) errors.push_back(*stats::normal_quantile((i + 0.5) / 5000.0));
  return errors;
}

// Errors of a total as raters make them: whole points, mostly small.
const std::vector<double> whole_points{-3, -2, -2, -1, -1, -1, 0, 0, 0, 0, 0, 0, 1, 1, 1, 2, 2, 3};

/// Mean run of a CUSUM on whole points with whole k and h, by its Markov chain: L = 1 + sum of Q L over the
/// states (C+, C-) below the limit, iterated until it stands still. (Brook D, Evans DA 1972, Biometrika
/// 59:539-549.)
double exact_run(const std::vector<double>& errors, int k, int h, int shift) {
  const auto states = static_cast<std::size_t>(h) + 1;
  std::vector<double> run(states * states, 1.0);
  for (double moved = 1.0; moved > 1e-10;) {
    moved = 0.0;
    for (int high = 0; high <= h; ++high) {
      for (int low = 0; low <= h; ++low) {
        double next = 1.0;
        for (const double error : errors) {
          const int e = static_cast<int>(error) + shift;
          const int up = std::max(0, high + e - k), down = std::max(0, low - e - k);
          if (up <= h && down <= h)
            next += run[static_cast<std::size_t>(up) * states + static_cast<std::size_t>(down)] /
                    static_cast<double>(errors.size());
        }
        double& here = run[static_cast<std::size_t>(high) * states + static_cast<std::size_t>(low)];
        moved = std::max(moved, std::abs(next - here));
        here = next;
      }
    }
  }
  return run[0];
}

}  // namespace

TEST_CASE("the published CUSUM example signals where it says", "[reference]") {
  const auto chart = cusum(montgomery, {.target = 10.0, .allowance = 0.5, .limit = 5.0}).value();
  REQUIRE(chart.points.size() == 30);
  REQUIRE(chart.first_signal == 28U);
  CHECK(chart.points[28].high == Approx(5.28).margin(0.005));
  CHECK(chart.points[28].high_since == 7);
  CHECK(chart.upward);
  CHECK(chart.changed_after == 22U);
  CHECK(chart.points[1].low == Approx(1.56).margin(0.005));  // .05 + 1.51, by hand
}

// The same data, mean 10, SD 1, weight .1 and L = 2.7 as published (Montgomery, chapter 9). Averages 9.945
// and 9.7495 and the limits, 9.73 and 10.27 at first, 9.38 and 10.62 at last, by hand; the 29th average
// is 10.6468.
TEST_CASE("the EWMA of the published data rises above its limit at the 29th value", "[reference]") {
  const auto chart = ewma(montgomery, {.target = 10.0, .weight = 0.1, .sd = 1.0, .width = 2.7}).value();
  CHECK(chart.points[0].average == Approx(9.945).margin(1e-12));
  CHECK(chart.points[1].average == Approx(9.7495).margin(1e-12));
  CHECK(chart.points[0].upper == Approx(10.27).margin(0.005));
  CHECK(chart.points[0].lower == Approx(9.73).margin(0.005));
  CHECK(chart.points[29].upper == Approx(10.62).margin(0.005));
  CHECK(chart.points[28].average == Approx(10.6468).margin(5e-5));
  CHECK(chart.first_signal == 28U);
}

// Normal errors, k = .5 SD: mean run 168 in control and 8.4 after a shift of one SD with h = 4; 465 and 10.4
// with h = 5 (Montgomery, chapter 9, from memory).
TEST_CASE("simulated runs on normal errors are the published ones", "[reference]") {
  const auto errors = normal_errors();
  const auto agrees = [&](double limit, double shift, double published) {
    const auto run = average_run(errors, CusumChart{.allowance = 0.5, .limit = limit}, shift,
                                 {.average = 500.0, .runs = 2000, .seed = 3})
                         .value();
    INFO(limit << ", shift " << shift << ": " << run.mean << " +- " << run.error);
    CHECK(std::abs(run.mean - published) < 3.0 * run.error + 0.05);
  };
  agrees(4.0, 0.0, 168.0);
  agrees(4.0, 1.0, 8.4);
  agrees(5.0, 0.0, 465.0);
  agrees(5.0, 1.0, 10.4);
}

TEST_CASE("simulated runs on whole points are those of the Markov chain", "[property]") {
  for (const int limit : {3, 5, 7})
    for (const int shift : {0, 1, 2}) {
      const auto run =
          average_run(whole_points, CusumChart{.allowance = 1.0, .limit = static_cast<double>(limit)}, shift,
                      {.average = 200.0, .runs = 1500, .seed = 9})
              .value();
      const double exact = exact_run(whole_points, 1, limit, shift);
      INFO(limit << ", shift " << shift << ": " << run.mean << " +- " << run.error << ", exact " << exact);
      CHECK(std::abs(run.mean - exact) < 4.0 * run.error);
    }
}

// k = 1 (a shift of 2 points): the limit found must be the smallest whole one that the chain allows.
TEST_CASE("the limit found for whole points is the smallest that gives the run", "[property]") {
  const RunOptions options{.average = 150.0, .runs = 3000, .seed = 5};
  const auto found = design_cusum(whole_points, 2.0, 0.0, options).value();
  CHECK(found.chart.allowance == 1.0);
  const int floor = static_cast<int>(std::floor(found.chart.limit + 1e-3));
  CHECK(exact_run(whole_points, 1, floor, 0) > 0.93 * options.average);
  CHECK(exact_run(whole_points, 1, floor - 1, 0) < 1.07 * options.average);
  CHECK(std::abs(found.in_control.mean - exact_run(whole_points, 1, floor, 0)) < 4 * found.in_control.error);
  const auto again = design_cusum(whole_points, 2.0, 0.0, options).value();
  CHECK(again.chart.limit == found.chart.limit);
}

TEST_CASE("the width found for an average gives the run, and sees a shift sooner", "[property]") {
  const RunOptions options{.average = 100.0, .runs = 2000, .seed = 5};
  const auto found = design_ewma(whole_points, 0.2, 0.0, options).value();
  CHECK(found.in_control.mean > 0.9 * options.average);
  CHECK(found.in_control.mean < 1.3 * options.average);
  const auto shifted = average_run(whole_points, found.chart, 2.0, options).value();
  CHECK(shifted.mean < 10.0);
}

// With all the weight on the newest case every case is a test of its own: 1 / P(beyond the limits).
TEST_CASE("an average of the newest case alone has geometric runs", "[property]") {
  const EwmaChart newest{.weight = 1.0, .sd = 1.0, .width = 2.5};
  const auto run = average_run(whole_points, newest, 0.0, {.runs = 4000, .seed = 2}).value();
  CHECK(std::abs(run.mean - 9.0) < 4.0 * run.error);  // two of 18
}

TEST_CASE("turning the errors over turns the chart over, and moving both moves nothing", "[property]") {
  base::Random random(11);
  std::vector<double> errors, mirrored, moved;
  for (int i = 0; i < 60; ++i) {
    const double error = std::round(random.normal(i < 30 ? 0.0 : 1.0, 1.5));
    errors.push_back(error);
    mirrored.push_back(-error);
    moved.push_back(error + 8.0);
  }
  const CusumChart chart{.target = 0.0, .allowance = 0.5, .limit = 6.0};
  const auto one = cusum(errors, chart).value();
  const auto other = cusum(mirrored, chart).value();
  const auto third = cusum(moved, {.target = 8.0, .allowance = 0.5, .limit = 6.0}).value();
  REQUIRE(one.first_signal);
  CHECK(one.first_signal == other.first_signal);
  CHECK(one.upward != other.upward);
  for (std::size_t i = 0; i < errors.size(); ++i) {
    CHECK(one.points[i].high == other.points[i].low);
    CHECK(one.points[i].high == third.points[i].high);
  }
}

TEST_CASE("charts refuse what is no chart, and no errors give an empty one", "[edge]") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK(cusum({}, CusumChart{}).value().points.empty());
  CHECK(ewma({}, EwmaChart{}).value().points.empty());
  const std::vector<double> some{0, 1, -1}, broken{0, nan};
  CHECK_FALSE(cusum(broken, CusumChart{}));
  CHECK(cusum(broken, CusumChart{}).error().message == "chart: error 2 is not a finite number");
  CHECK_FALSE(cusum(some, {.target = nan}));
  CHECK_FALSE(cusum(some, {.allowance = -1.0}));
  CHECK_FALSE(cusum(some, {.limit = 0.0}));
  CHECK_FALSE(ewma(some, {.weight = 0.0}));
  CHECK_FALSE(ewma(some, {.weight = 1.5}));
  CHECK_FALSE(ewma(some, {.sd = 0.0}));
  CHECK_FALSE(ewma(some, {.width = nan}));
  CHECK_FALSE(average_run({}, CusumChart{}, 0.0));
  CHECK_FALSE(average_run(some, CusumChart{}, 0.0, {.runs = 0}));
  CHECK_FALSE(average_run(some, CusumChart{}, 0.0, {.average = 0.5}));
}

TEST_CASE("errors that show no spread have no limit, and say why", "[edge]") {
  const std::vector<double> alike{1, 1, 1}, one{1}, small{-1, 0, 1};
  CHECK(design_cusum(alike, 2.0).error().code == Errc::undefined);
  CHECK(design_cusum(one, 2.0).error().code == Errc::undefined);
  CHECK(design_ewma(alike, 0.2).error().code == Errc::undefined);
  CHECK(design_cusum(small, 0.0).error().code == Errc::invalid);
  const auto too_wide = design_cusum(small, 2.0);
  REQUIRE_FALSE(too_wide);
  CHECK(too_wide.error().code == Errc::undefined);
  CHECK(too_wide.error().message.find("smaller shift") != std::string::npos);
}

}  // namespace evenhand::agreement
