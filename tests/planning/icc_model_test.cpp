#include <cmath>

#include <catch2/catch.hpp>

#include "planning/formulas.hpp"
#include "planning/icc_model.hpp"

using namespace evenhand::planning;

namespace {

constexpr Simulation quick{.replicates = 1000, .threads = 2};

/// Four Monte Carlo standard errors: a false alarm in 1 of 16,000.
double allowed(const Achieved& achieved) { return 4.0 * achieved.width_error; }

}  // namespace

TEST_CASE("without a rater effect the simulated width is the one Bonett plans for", "[reference]") {
  // Bonett 2002, Statistics in Medicine 21:1331-1335: the number of cases whose expected width is .2. His
  // formula is an approximation to first order, so .01 is granted beside the Monte Carlo error.
  for (const std::size_t raters : {2U, 3U, 5U, 10U}) {
    const auto cases = static_cast<std::size_t>(std::ceil(bonett_cases(.8, raters, .2)->total()));
    const auto achieved = icc_achieved(*icc_model({.icc = .8, .rater_share = 0.0}), cases, raters, {}, quick);
    INFO(raters << " raters, " << cases << " cases");
    CHECK(achieved.mean_width == Approx(.2).margin(.01 + allowed(achieved)));
    CHECK(achieved.coverage == Approx(.95).margin(.025));
  }
}

TEST_CASE("a planned width of .20 becomes .30 when raters carry half the error", "[reference]") {
  // Five raters, ICC .8; an earlier simulation of the same design apart from this program (McGraw & Wong 1996
  // limits) is the source of the statement.
  const auto cases = static_cast<std::size_t>(std::ceil(bonett_cases(.8, 5, .2)->total()));
  const auto achieved = icc_achieved(*icc_model({.icc = .8, .rater_share = .5}), cases, 5, {}, quick);
  CHECK(achieved.mean_width == Approx(.30).margin(.01 + allowed(achieved)));
}

TEST_CASE("simulated widths agree with an independent simulation of the same designs", "[reference]") {
  // Average width of the McGraw-Wong interval of ICC(2,1), 400 runs of another program (error about .01 and,
  // with two raters, .02); the design of Doros & Lew 2010, American Journal of Biostatistics 1:1-8.
  struct Row {
    double icc, share;
    std::size_t cases, raters;
    double width;
  };
  for (const Row& row : {Row{.8, 0.0, 20, 2, .37}, Row{.8, 0.0, 20, 4, .25}, Row{.8, 0.0, 50, 4, .16},
                         Row{.8, .25, 20, 2, .45}, Row{.8, .25, 50, 2, .34}, Row{.8, .25, 50, 4, .21},
                         Row{.8, .25, 20, 10, .24}, Row{.8, .5, 50, 2, .49}, Row{.8, .5, 50, 4, .30},
                         Row{.8, .5, 10, 10, .34}, Row{.9, .5, 50, 2, .42}, Row{.9, .5, 20, 10, .16}}) {
    const auto achieved = icc_achieved(*icc_model({.icc = row.icc, .rater_share = row.share}), row.cases,
                                       row.raters, {}, quick);
    INFO("ICC " << row.icc << ", share " << row.share << ", " << row.cases << " x " << row.raters);
    CHECK(achieved.mean_width == Approx(row.width).margin(.02 + (row.raters == 2 ? .02 : 0.0)));
  }
}

TEST_CASE("the scores have the expected ICC, whatever the steps and the ceiling", "[property]") {
  for (const auto& scale : {ScoreScale{}, ScoreScale{.shares = {}, .ceiling = .5}, equal_levels(2),
                            equal_levels(5), levels_with_ceiling(5, .6), equal_levels(57)}) {
    const auto model = icc_model({.icc = .7, .rater_share = .2, .scale = scale});
    REQUIRE(model);
    // Large and many: the estimator's own bias is of the order of one over the cases.
    const auto achieved = icc_achieved(*model, 400, 10, {}, {.replicates = 200, .threads = 2});
    INFO(scale.shares.size() << " levels, ceiling " << scale.ceiling);
    CHECK(achieved.mean_estimate == Approx(.7).margin(.012));
  }
}

TEST_CASE("steps and ceiling cut the normal into the shares asked for", "[property]") {
  const CutNormal scale(ScoreScale{.shares = {.1, .2, .3, .4}});
  CHECK(scale.score(-1.29) == 0.0);  // normal quantiles of .1, .3 and .6: -1.2816, -.5244, .2533
  CHECK(scale.score(-1.27) == 1.0);
  CHECK(scale.score(-0.53) == 1.0);
  CHECK(scale.score(0.25) == 2.0);
  CHECK(scale.score(0.26) == 3.0);
  CHECK(scale.variance() == Approx(.2 + .3 * 4 + .4 * 9 - 2.0 * 2.0));
  // All of the latent value carries all of the variance, up to the steps' own jumps.
  CHECK(scale.variance_of_part(1.0) == Approx(scale.variance()).epsilon(.02));

  // Cut in the middle, E[min(X, 0)] is -phi(0) and E[min(X, 0)^2] a half.
  const CutNormal half(ScoreScale{.shares = {}, .ceiling = .5});
  CHECK(half.score(3.0) == Approx(0.0).margin(1e-12));
  CHECK(half.variance() == Approx(.5 - 1.0 / (2.0 * 3.14159265358979)));
  CHECK(half.variance_of_part(1.0) == Approx(half.variance()).epsilon(1e-4));
  CHECK(CutNormal(ScoreScale{}).variance_of_part(.3) == Approx(.3));
}

TEST_CASE("a dichotomy keeps of a latent correlation what the arcsine law says", "[reference]") {
  // Two normals with correlation r, both cut at their means, correlate by 2/pi asin r (Sheppard 1899).
  const CutNormal halves(equal_levels(2));
  for (const double r : {.2, .5, .9})
    CHECK(halves.variance_of_part(r) / halves.variance() ==
          Approx(2.0 / 3.14159265358979 * std::asin(r)).epsilon(1e-6));
}

TEST_CASE("the usual interval is found to fail under a strong ceiling", "[edge]") {
  const auto model = icc_model({.icc = .8, .rater_share = .1, .scale = levels_with_ceiling(5, .8)});
  REQUIRE(model);
  const auto achieved = icc_achieved(*model, 80, 5, {}, quick);
  CHECK(achieved.coverage < .8);
  CHECK(achieved.spread > 1.3 * achieved.mean_width);
}

TEST_CASE("expectations that cannot be are refused with the reason", "[edge]") {
  CHECK_FALSE(icc_model({.icc = 1.0}));
  CHECK_FALSE(icc_model({.icc = std::nan("")}));
  CHECK_FALSE(icc_model({.rater_share = 1.5}));
  CHECK_FALSE(icc_model({.scale = {.shares = {.5, .4}}}));
  CHECK_FALSE(icc_model({.scale = {.shares = {1.0, 0.0}}}));
  CHECK_FALSE(icc_model({.scale = {.shares = {}, .ceiling = 1.0}}));
  const auto coarse = icc_model({.rater_share = .5, .scale = levels_with_ceiling(5, .8)});
  REQUIRE_FALSE(coarse);
  CHECK(coarse.error().message.find("at most") != std::string::npos);
}
