#include "competency/limit.hpp"

#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "stats/distributions.hpp"

namespace evenhand::competency {
namespace {

/// `right` spread over n cases of m as evenly as can be, so that the effect stays at its floor.
std::vector<CaseCount> even_cases(std::size_t n, std::size_t m, std::size_t right) {
  std::vector<CaseCount> cases;
  for (std::size_t c = 0; c < n; ++c) cases.push_back({right / n + (c < right % n ? 1 : 0), m});
  return cases;
}

/// P(X >= x) for X binomial(n, p), by adding up terms; an independent road to an exact limit.
double binomial_upper_tail(int x, int n, double p) {
  double sum = 0.0;
  for (int k = x; k <= n; ++k)
    sum += std::exp(std::lgamma(n + 1) - std::lgamma(k + 1) - std::lgamma(n - k + 1) + k * std::log(p) +
                    (n - k) * std::log1p(-p));
  return sum;
}

}  // namespace

// The small table that people can use by hand: whole cases of 14 items, one look at 95 %. The counts
// were computed beforehand with another program (R's qbeta and qt); each must be the smallest that passes.
TEST_CASE("the counts of the by-hand table are the smallest that pass", "[reference]") {
  struct Row {
    std::size_t cases;
    std::size_t least;
  };
  for (const Row row : {Row{10, 127}, Row{12, 150}, Row{16, 196}, Row{20, 243}, Row{24, 289}}) {
    INFO(row.cases << " cases");
    const auto enough = agreement_limit(even_cases(row.cases, 14, row.least), 0.95, 0.10);
    const auto short_by_one = agreement_limit(even_cases(row.cases, 14, row.least - 1), 0.95, 0.10);
    CHECK(enough.effect == Approx(2.3).epsilon(1e-12));
    CHECK(*enough.lower >= 0.80);
    CHECK(*short_by_one.lower < 0.80);
  }
}

TEST_CASE("the limit is put together as the formula says") {
  // Four cases of five; shares .4 .8 1 1, so var = .08, p = .8, N = 20.
  const std::vector<CaseCount> cases{{2, 5}, {4, 5}, {5, 5}, {5, 5}};
  const Limit limit = agreement_limit(cases, 0.97, 0.10);
  CHECK(*limit.share == Approx(0.8));
  CHECK(*limit.observed_effect == Approx((0.08 / 4) / (0.8 * 0.2 / 20)));
  CHECK(limit.floor_effect == Approx(1.4));
  CHECK(limit.effect == Approx(2.5));
  const double z = *stats::normal_quantile(0.97);
  const double t = *stats::t_quantile(0.97, 3);
  CHECK(*limit.effective_scores == Approx(20 / 2.5 * (z / t) * (z / t)));
  CHECK(*limit.lower < 0.8);
  CHECK(*limit.upper > 0.8);
}

// With one score a case there is nothing to cluster: the design effect of n/(n-1) aside, the limit is
// Clopper and Pearson's at an effective count, which a sum of binomial terms must reproduce where that count
// is whole.
TEST_CASE("an exact limit leaves the stated tail") {
  const Limit limit = agreement_limit(even_cases(40, 7, 260), 0.97, 0.10);
  const double n = *limit.effective_scores;
  const double x = *limit.share * n;
  const int below = static_cast<int>(std::floor(x));
  const int size = static_cast<int>(std::lround(n));
  // The limit at real counts lies between those at the whole counts around it.
  CHECK(binomial_upper_tail(below, size, *limit.lower) > 0.03 * 0.9);
  CHECK(binomial_upper_tail(below + 1, size, *limit.lower) < 0.03 * 1.1);
}

TEST_CASE("what is too little for a limit is said in words", "[edge]") {
  const Limit nothing = agreement_limit({}, 0.97, 0.10);
  CHECK(nothing.share.why() == "no decidable score");
  CHECK_FALSE(nothing.lower);

  const std::vector<CaseCount> one{{7, 7}, {0, 0}};
  const Limit single = agreement_limit(one, 0.97, 0.10);
  CHECK(single.cases == 1);
  CHECK(*single.share == 1.0);
  CHECK(single.lower.why() == "one case says nothing about the next; two are the least");
  CHECK(single.observed_effect.why() == "one case shows no spread between cases");
  CHECK(agreement_limit(even_cases(2, 7, 14), 0.97, 0.10).observed_effect.why() ==
        "every score came out alike, so the cases show no spread");
  CHECK(agreement_limit(even_cases(2, 7, 9), 1.0, 0.10).lower.why() == "the level lies outside (0, 1)");
}

TEST_CASE("flawless cases have a limit below one, and hopeless ones above zero", "[edge]") {
  const Limit flawless = agreement_limit(even_cases(2, 7, 14), 0.97, 0.10);
  CHECK_FALSE(flawless.observed_effect);
  CHECK(flawless.effect == Approx(1.6));
  CHECK(*flawless.upper == 1.0);
  // alpha^(1/n*), Clopper and Pearson 1934 at x = n
  CHECK(*flawless.lower == Approx(std::pow(0.03, 1.0 / *flawless.effective_scores)));
  CHECK(*flawless.lower < 0.2);

  const Limit hopeless = agreement_limit(even_cases(16, 7, 0), 0.97, 0.10);
  CHECK(*hopeless.lower == 0.0);
  CHECK(*hopeless.upper > 0.0);
  CHECK(*hopeless.upper < 0.2);
}

TEST_CASE("cases of unequal size weigh by their scores", "[edge]") {
  // A single decidable score that was missed must not count like a whole case missed.
  std::vector<CaseCount> cases = even_cases(16, 7, 16 * 6);
  cases.push_back({0, 1});
  const Limit limit = agreement_limit(cases, 0.97, 0.10);
  CHECK(limit.items_per_case == Approx(113.0 / 17));
  CHECK(limit.effect == Approx(1.0 + 0.10 * (113.0 / 17 - 1)));
  CHECK(*limit.observed_effect < 0.2);
}

TEST_CASE("at the floor one more miss never raises a limit", "[property]") {
  for (const std::size_t n : {2u, 6u, 16u, 24u, 32u}) {
    double lower = -1.0;
    double upper = -1.0;
    for (std::size_t right = 0; right <= n * 7; ++right) {
      const Limit limit = agreement_limit(even_cases(n, 7, right), 0.97, 0.10);
      REQUIRE(limit.effect == limit.floor_effect);
      CHECK(*limit.lower >= lower);
      CHECK(*limit.upper >= upper);
      lower = *limit.lower;
      upper = *limit.upper;
    }
  }
}

TEST_CASE("above the floor one more miss makes nobody ready", "[property]") {
  std::size_t compared = 0;
  for (std::uint64_t table = 0; table < 600; ++table) {
    base::Random random(20261125, table);
    std::vector<CaseCount> cases(16 + 8 * random.index(3));
    for (CaseCount& each : cases) {
      const double p = random.chance(0.1) ? 0.5 : 0.96;  // a few bad cases: an effect above its floor
      each.scores = 7;
      for (int i = 0; i < 7; ++i) each.right += random.chance(p) ? 1 : 0;
    }
    CaseCount& hit = cases[random.index(cases.size())];
    const Limit before = agreement_limit(cases, 0.97, 0.10);
    if (hit.right == 0 || before.effect == before.floor_effect) continue;
    --hit.right;
    ++compared;
    const Limit after = agreement_limit(cases, 0.97, 0.10);
    CHECK((*after.lower < 0.80 || *before.lower >= 0.80));
    CHECK(*after.lower <= *before.lower + 0.011);
  }
  CHECK(compared > 200);
}

// Found by going through all tables; kept so that the docstring stays true.
TEST_CASE("one table in all is made ready by one more miss", "[edge]") {
  std::vector<CaseCount> cases(16, {7, 7});
  cases[0].right = 3;
  cases[1].right = 5;
  CHECK(*agreement_limit(cases, 0.97, 0.10).lower == Approx(0.79947).margin(5e-5));
  cases[2].right = 6;
  CHECK(*agreement_limit(cases, 0.97, 0.10).lower == Approx(0.80066).margin(5e-5));
}

TEST_CASE("more cases at the same share never lower the lower limit at the floor", "[property]") {
  for (const std::size_t right_of_seven : {1u, 4u, 6u, 7u}) {
    double lower = 0.0;
    for (std::size_t n = 2; n <= 60; ++n) {
      const Limit limit = agreement_limit(even_cases(n, 7, n * right_of_seven), 0.97, 0.10);
      CHECK(*limit.lower >= lower);
      lower = *limit.lower;
    }
    CHECK(lower > 0.0);
  }
}

}  // namespace evenhand::competency
