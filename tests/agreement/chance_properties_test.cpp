// What must not change when nothing that matters changes, and how the coefficients stand to each
// other; then tables that are large, lopsided or far from zero.
#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/alpha.hpp"
#include "agreement/brennan_prediger.hpp"
#include "agreement/concordance.hpp"
#include "agreement/conger.hpp"
#include "agreement/fleiss.hpp"
#include "agreement/gwet.hpp"
#include "agreement/kendall_w.hpp"
#include "agreement/light.hpp"
#include "agreement/marginal_homogeneity.hpp"
#include "agreement/percent.hpp"
#include "base/random.hpp"
#include "stats/correlation.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

/// Places rater by rater; below 0: no score.
struct Table {
  std::size_t raters, cases, q;
  std::vector<std::int32_t> places;

  Placings view() const { return {places, raters, cases, q}; }
  CategoryCounts counts() const { return CategoryCounts::of(view()); }
  std::int32_t& at(std::size_t r, std::size_t c) { return places[r * cases + c]; }
};

Table random_table(base::Random& random, double gaps, std::size_t raters = 4, std::size_t cases = 30) {
  Table table{raters, cases, 4, std::vector<std::int32_t>(raters * cases)};
  for (std::size_t c = 0; c < cases; ++c) {
    const auto truth = static_cast<std::int32_t>(random.index(4));
    for (std::size_t r = 0; r < raters; ++r)
      table.at(r, c) = random.chance(gaps)  ? -1
                       : random.chance(0.4) ? static_cast<std::int32_t>(random.index(4))
                                            : truth;
  }
  return table;
}

Table with_raters(const Table& table, const std::vector<std::size_t>& order) {
  Table result = table;
  for (std::size_t r = 0; r < table.raters; ++r)
    for (std::size_t c = 0; c < table.cases; ++c) result.at(r, c) = table.view().at(order[r], c);
  return result;
}

Table with_cases(const Table& table, const std::vector<std::size_t>& cases) {
  Table result{table.raters, cases.size(), table.q, std::vector<std::int32_t>(table.raters * cases.size())};
  for (std::size_t r = 0; r < table.raters; ++r)
    for (std::size_t c = 0; c < cases.size(); ++c) result.at(r, c) = table.view().at(r, cases[c]);
  return result;
}

Table with_categories(const Table& table, const std::vector<std::int32_t>& names) {
  Table result = table;
  for (auto& place : result.places)
    if (place >= 0) place = names[static_cast<std::size_t>(place)];
  return result;
}

std::vector<std::size_t> shuffled(base::Random& random, std::size_t n) {
  std::vector<std::size_t> order(n);
  std::iota(order.begin(), order.end(), std::size_t{0});
  random.shuffle(std::span(order));
  return order;
}

std::vector<std::size_t> twice(std::size_t n) {
  std::vector<std::size_t> cases;
  for (std::size_t i = 0; i < 2 * n; ++i) cases.push_back(i % n);
  return cases;
}

RatingTable ratings(const Table& table) {
  RatingTable result(table.cases, table.raters);
  for (std::size_t c = 0; c < table.cases; ++c)
    for (std::size_t r = 0; r < table.raters; ++r)
      if (table.view().at(r, c) >= 0) REQUIRE(result.set(c, r, table.view().at(r, c)));
  return result;
}

AlphaUnits units_of(const Table& table) {
  std::vector<double> values(table.q);
  std::iota(values.begin(), values.end(), 0.0);
  return {table.counts(), values};
}

AgreementWeights weights(Weights kind, std::size_t q = 4) { return AgreementWeights::by_index(q, kind); }

/// Everything about a table with these weights, alphas of the nominal (weights none) or of the
/// ordinal and interval metrics; limits and errors too.
std::vector<double> everything(const Table& table, Weights kind) {
  std::vector<double> all;
  const auto add = [&](const Value& value) {
    INFO(value.why());
    REQUIRE(value.defined());
    all.push_back(*value);
  };
  const AgreementWeights w = weights(kind, table.q);
  for (const auto& result :
       {gwet(table.counts(), w), brennan_prediger(table.counts(), w), fleiss_all_scores(table.counts(), w)}) {
    add(result.coefficient.estimate);
    add(result.coefficient.lower);
    add(result.se);
  }
  add(pairwise_agreement(table.counts(), w));
  add(conger_kappa(table.view(), w));
  add(light_kappa(table.view(), w));
  if (kind == Weights::none) {
    const FleissKappas fleiss = fleiss_kappa(table.counts(), table.raters);
    add(fleiss.kappa);
    add(fleiss.se0);
    add(alpha(units_of(table), AlphaMetric::nominal));
  } else {
    add(alpha(units_of(table), AlphaMetric::ordinal));
    add(alpha(units_of(table), AlphaMetric::interval));
    add(kendall_w(ratings(table)).w);
  }
  return all;
}

bool same(const std::vector<double>& a, const std::vector<double>& b, double tolerance = 1e-12) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [&](double x, double y) { return std::abs(x - y) <= tolerance; });
}

double value(const Value& v) {
  INFO(v.why());
  REQUIRE(v.defined());
  return *v;
}

}  // namespace

TEST_CASE("relabeling raters, cases and categories changes no coefficient", "[property]") {
  base::Random random(31);
  for (int i = 0; i < 20; ++i) {
    const Table table = random_table(random, 0.1);
    for (const auto kind : {Weights::none, Weights::linear, Weights::quadratic}) {
      const auto before = everything(table, kind);
      CHECK(same(everything(with_raters(table, shuffled(random, table.raters)), kind), before));
      CHECK(same(everything(with_cases(table, shuffled(random, table.cases)), kind), before));
      // Any order of categories for none, the reverse order for the others.
      const auto names = kind == Weights::none ? std::vector<std::int32_t>{2, 0, 3, 1}
                                               : std::vector<std::int32_t>{3, 2, 1, 0};
      CHECK(same(everything(with_categories(table, names), kind), before));
    }
    // And the check can tell: the order matters to the weights.
    CHECK_FALSE(same(everything(with_categories(table, {2, 0, 3, 1}), Weights::quadratic),
                     everything(table, Weights::quadratic)));
  }
}

TEST_CASE("a table written twice keeps the coefficients, but not alpha", "[property]") {
  base::Random random(32);
  for (int i = 0; i < 20; ++i) {
    const Table table = random_table(random, 0.0), doubled = with_cases(table, twice(table.cases));
    const AgreementWeights w = weights(Weights::linear);
    CHECK(value(gwet(doubled.counts(), w).coefficient.estimate) ==
          Approx(value(gwet(table.counts(), w).coefficient.estimate)).epsilon(1e-12));
    CHECK(value(brennan_prediger(doubled.counts(), w).coefficient.estimate) ==
          Approx(value(brennan_prediger(table.counts(), w).coefficient.estimate)).epsilon(1e-12));
    CHECK(value(fleiss_kappa(doubled.counts(), 4).kappa) ==
          Approx(value(fleiss_kappa(table.counts(), 4).kappa)).epsilon(1e-12));
    CHECK(value(conger_kappa(doubled.view(), w)) ==
          Approx(value(conger_kappa(table.view(), w))).epsilon(1e-12));
    CHECK(value(light_kappa(doubled.view(), w)) ==
          Approx(value(light_kappa(table.view(), w))).epsilon(1e-12));
    CHECK(value(pairwise_agreement(doubled.counts(), w)) ==
          Approx(value(pairwise_agreement(table.counts(), w))).epsilon(1e-12));
    CHECK(value(alpha(units_of(doubled), AlphaMetric::ordinal)) <
          value(alpha(units_of(table), AlphaMetric::ordinal)));
    // Twice the table is every case with weight 2.
    const std::vector<double> two(table.cases, 2.0);
    CHECK(value(alpha(units_of(doubled), AlphaMetric::ordinal)) ==
          Approx(value(alpha(units_of(table), AlphaMetric::ordinal, two))).epsilon(1e-12));
    // An error of twice the cases is smaller by the root of (n - 1) / (2 n - 1).
    CHECK(value(gwet(doubled.counts(), w).se) ==
          Approx(value(gwet(table.counts(), w).se) * std::sqrt(29.0 / 59.0)).epsilon(1e-12));
  }
}

TEST_CASE("alpha tends to Fleiss' kappa, for two raters Scott's, as cases are added", "[property]") {
  base::Random random(33);
  for (const std::size_t raters : {2U, 3U, 5U}) {
    const Table table = random_table(random, 0.0, raters);
    const double fleiss = value(fleiss_kappa(table.counts(), raters).kappa);
    for (const double times : {1.0, 10.0, 1000.0}) {
      const double a =
          value(alpha(units_of(table), AlphaMetric::nominal, std::vector<double>(table.cases, times)));
      const double n = times * static_cast<double>(table.cases * raters);
      CHECK(1.0 - a == Approx((1.0 - fleiss) * (n - 1.0) / n).epsilon(1e-12));
    }
    if (raters != 2) continue;
    // Scott 1955: chance from the mean of the two margins.
    double same_score = 0;
    std::vector<double> share(table.q);
    for (std::size_t c = 0; c < table.cases; ++c) {
      same_score += table.view().at(0, c) == table.view().at(1, c) ? 1.0 / 30.0 : 0.0;
      for (std::size_t r = 0; r < 2; ++r)
        share[static_cast<std::size_t>(table.view().at(r, c))] += 1.0 / 60.0;
    }
    double chance = 0;
    for (const double p : share) chance += p * p;
    CHECK(fleiss == Approx((same_score - chance) / (1 - chance)).epsilon(1e-12));
  }
}

TEST_CASE("quadratic kappa of equally spaced scores is Lin's concordance", "[property]") {
  base::Random random(34);
  for (int i = 0; i < 50; ++i) {
    const Table table = random_table(random, 0.0, 2);
    CrossTable cross(table.q);
    std::vector<double> first, second;
    for (std::size_t c = 0; c < table.cases; ++c) {
      const auto a = table.view().at(0, c), b = table.view().at(1, c);
      cross.add(static_cast<std::size_t>(a), static_cast<std::size_t>(b));
      first.push_back(a * 2.5 - 7.0);
      second.push_back(b * 2.5 - 7.0);
    }
    CHECK(value(concordance(first, second).estimate) ==
          Approx(value(kappa_estimate(cross, weights(Weights::quadratic)))).epsilon(1e-12));
  }
}

TEST_CASE("for two raters the coefficients of several are those of two", "[property]") {
  base::Random random(35);
  for (int i = 0; i < 20; ++i) {
    const Table table = random_table(random, 0.0, 2);
    CrossTable cross(table.q);
    std::vector<double> first, second;
    for (std::size_t c = 0; c < table.cases; ++c) {
      first.push_back(table.view().at(0, c));
      second.push_back(table.view().at(1, c));
      cross.add(static_cast<std::size_t>(first.back()), static_cast<std::size_t>(second.back()));
    }
    for (const auto kind : {Weights::none, Weights::linear, Weights::quadratic}) {
      const double cohen = value(kappa_estimate(cross, weights(kind)));
      CHECK(value(conger_kappa(table.view(), weights(kind))) == Approx(cohen).epsilon(1e-12));
      CHECK(value(light_kappa(table.view(), weights(kind))) == Approx(cohen).epsilon(1e-12));
    }
    CHECK(value(pairwise_agreement(table.counts(), weights(Weights::none))) ==
          Approx(value(exact_agreement(first, second).estimate)).epsilon(1e-12));
    // W of two raters is the mean of 1 and Spearman's correlation when there are no ties.
    for (std::size_t c = 0; c < first.size(); ++c)
      first[c] += random.uniform(), second[c] += random.uniform();
    RatingTable pair(first.size(), 2);
    for (std::size_t c = 0; c < first.size(); ++c) {
      REQUIRE(pair.set(c, 0, first[c]));
      REQUIRE(pair.set(c, 1, second[c]));
    }
    CHECK(value(kendall_w(pair).w) == Approx((1.0 + *stats::spearman(first, second)) / 2.0).epsilon(1e-12));
  }
}

TEST_CASE("the unit of the scale does not matter where it should not", "[property]") {
  base::Random random(36);
  const auto moved = [](const std::vector<double>& x, double a, double b) {
    std::vector<double> y;
    for (const double v : x) y.push_back(a * v + b);
    return y;
  };
  std::vector<double> x, y;
  for (int i = 0; i < 40; ++i) {
    const double truth = random.normal(20, 5);
    x.push_back(truth + random.normal());
    y.push_back(truth + random.normal(1, 2));
  }
  const Estimate before = concordance(x, y), after = concordance(moved(x, 3, -50), moved(y, 3, -50));
  CHECK(value(after.estimate) == Approx(value(before.estimate)).epsilon(1e-12));
  CHECK(value(after.lower) == Approx(value(before.lower)).epsilon(1e-10));
  CHECK(value(concordance(y, x).upper) == Approx(value(before.upper)).epsilon(1e-12));
  CHECK(value(concordance(moved(x, -1, 0), y).estimate) < 0.0);

  const Table table = random_table(random, 0.2);
  const auto alpha_with = [&](AlphaMetric metric, const std::vector<double>& values) {
    return value(alpha(AlphaUnits(table.counts(), values), metric));
  };
  const double interval = alpha_with(AlphaMetric::interval, {0, 1, 2, 3});
  CHECK(alpha_with(AlphaMetric::interval, {10, 12, 14, 16}) == Approx(interval).epsilon(1e-12));
  CHECK(alpha_with(AlphaMetric::ratio, {2, 4, 6, 8}) ==
        Approx(alpha_with(AlphaMetric::ratio, {1, 2, 3, 4})).epsilon(1e-12));
  CHECK(alpha_with(AlphaMetric::ordinal, {1, 10, 100, 1000}) ==
        Approx(alpha_with(AlphaMetric::ordinal, {0, 1, 2, 3})).epsilon(1e-12));
}

TEST_CASE("a jackknife without a matrix is one with it", "[property]") {
  base::Random random(37);
  // Few scores of many categories take the way through all scores, the same doubled often the other.
  const Table few = random_table(random, 0.3, 3, 4);
  const Table many = with_cases(few, {0, 1, 2, 3, 0, 1, 2, 3, 0, 1, 2, 3});
  for (const auto metric : {AlphaMetric::nominal, AlphaMetric::ordinal, AlphaMetric::interval}) {
    for (const Table* table : {&few, &many}) {
      const auto without = alpha_without_each(units_of(*table), metric);
      for (std::size_t c = 0; c < table->cases; ++c) {
        std::vector<std::size_t> rest;
        for (std::size_t other = 0; other < table->cases; ++other)
          if (other != c) rest.push_back(other);
        const Value slow = alpha(units_of(with_cases(*table, rest)), metric);
        REQUIRE(without[c].defined() == slow.defined());
        if (slow) CHECK(*without[c] == Approx(*slow).margin(1e-12));
      }
    }
  }
}

TEST_CASE("one category in 100,000 keeps every digit", "[property]") {
  // One case of 100,000 with the second category from both raters, one from one of them.
  const std::size_t n = 100000;
  Table table{2, n, 2, std::vector<std::int32_t>(2 * n)};
  table.at(0, 7) = table.at(1, 7) = table.at(1, 70) = 1;
  const double p = 3.0 / (2.0 * static_cast<double>(n)), q = 1.0 - p, cases = static_cast<double>(n);
  const double fleiss = 1.0 - 1.0 / (cases * 2.0 * p * q);
  CHECK(value(fleiss_kappa(table.counts(), 2).kappa) == Approx(fleiss).epsilon(1e-12));
  CHECK(value(fleiss_all_scores(table.counts(), weights(Weights::none, 2)).coefficient.estimate) ==
        Approx(fleiss).epsilon(1e-10));
  CHECK(value(fleiss_kappa(table.counts(), 2).se0) == Approx(std::sqrt(1.0 / cases)).epsilon(1e-12));
  CHECK(value(alpha(units_of(table), AlphaMetric::nominal)) ==
        Approx(1.0 - (2 * cases - 1) / (3 * (2 * cases - 3))).epsilon(1e-12));
  const double pe = 2.0 * p * q;
  CHECK(value(gwet(table.counts(), weights(Weights::none, 2)).coefficient.estimate) ==
        Approx(1.0 - (1.0 / cases) / (1.0 - pe)).epsilon(1e-15));
  CHECK(value(brennan_prediger(table.counts(), weights(Weights::none, 2)).coefficient.estimate) ==
        Approx(1.0 - 2.0 / cases).epsilon(1e-15));
  const double p1 = 1.0 / cases, p2 = 2.0 / cases;
  CHECK(value(conger_kappa(table.view(), weights(Weights::none, 2))) ==
        Approx(1.0 - (1.0 / cases) / (p1 * (1 - p2) + p2 * (1 - p1))).epsilon(1e-10));
}

TEST_CASE("scores far from zero or close together keep their digits", "[property]") {
  base::Random random(38);
  std::vector<double> x, y;
  for (int i = 0; i < 1000; ++i) {  // multiples of 1/1024: 1e9 + x is exact
    const double truth = std::round(random.normal(0, 2) * 1024);
    x.push_back((truth + std::round(random.normal() * 1024)) / 1024);
    y.push_back((truth + std::round(random.normal() * 1024)) / 1024);
  }
  const auto alpha_at = [&](double scale, double shift) {
    RatingTable table(x.size(), 2);
    for (std::size_t c = 0; c < x.size(); ++c) {
      REQUIRE(table.set(c, 0, x[c] * scale + shift));
      REQUIRE(table.set(c, 1, y[c] * scale + shift));
    }
    return value(alpha(AlphaUnits::of(table), AlphaMetric::interval));
  };
  const auto concordance_at = [&](double scale, double shift) {
    std::vector<double> a, b;
    for (std::size_t c = 0; c < x.size(); ++c)
      a.push_back(x[c] * scale + shift), b.push_back(y[c] * scale + shift);
    return concordance(a, b);
  };
  const double near_one = std::ldexp(1.0, -30);  // spreads of about 1e-9
  CHECK(alpha_at(1.0, 1e9) == Approx(alpha_at(1.0, 0.0)).epsilon(1e-12));
  CHECK(alpha_at(near_one, 1.0) == Approx(alpha_at(1.0, 0.0)).epsilon(1e-12));
  CHECK(value(concordance_at(1.0, 1e9).estimate) ==
        Approx(value(concordance_at(1.0, 0.0).estimate)).epsilon(1e-12));
  CHECK(value(concordance_at(1.0, 1e9).lower) ==
        Approx(value(concordance_at(1.0, 0.0).lower)).epsilon(1e-12));
  CHECK(value(concordance_at(near_one, 1.0).upper) ==
        Approx(value(concordance_at(1.0, 0.0).upper)).epsilon(1e-12));
}

TEST_CASE("a million cases take the same formulas", "[property]") {
  // 10,000 cases 100 times: what does not depend on the number of cases stays.
  base::Random random(39);
  const Table table = random_table(random, 0.1, 2, 10000);
  std::vector<std::size_t> often(1000000);
  for (std::size_t i = 0; i < often.size(); ++i) often[i] = i % table.cases;
  const Table large = with_cases(table, often);
  const AgreementWeights w = weights(Weights::quadratic);
  const CategoryCounts counts = large.counts();
  const ChanceCorrected a = gwet(table.counts(), w), b = gwet(counts, w);
  CHECK(b.cases == 100 * a.cases);
  CHECK(value(b.coefficient.estimate) == Approx(value(a.coefficient.estimate)).epsilon(1e-10));
  const auto n = static_cast<double>(a.cases);
  CHECK(value(b.se) == Approx(value(a.se) * std::sqrt((n - 1.0) / (100.0 * n - 1.0))).epsilon(1e-9));
  CHECK(value(conger_kappa(large.view(), w)) == Approx(value(conger_kappa(table.view(), w))).epsilon(1e-12));
  const std::vector<double> hundred(table.cases, 100.0);
  const AlphaUnits many(counts, {0, 1, 2, 3}), few = units_of(table);
  for (const auto metric :
       {AlphaMetric::nominal, AlphaMetric::ordinal, AlphaMetric::interval, AlphaMetric::ratio})
    CHECK(value(alpha(many, metric)) == Approx(value(alpha(few, metric, hundred))).epsilon(1e-10));
  std::vector<double> first(large.cases), second(large.cases);
  for (std::size_t c = 0; c < large.cases; ++c) {
    first[c] = 1e9 + 2.0 * large.places[c];
    second[c] = 1e9 + 2.0 * large.places[large.cases + c];
  }
  const std::span<const double> few1(first.data(), table.cases), few2(second.data(), table.cases);
  const Estimate concordance_of_many = concordance(first, second);
  CHECK(value(concordance_of_many.estimate) ==
        Approx(value(concordance(few1, few2).estimate)).epsilon(1e-10));
  CHECK(value(concordance_of_many.lower) > value(concordance(few1, few2).lower));
  CHECK(*stats::pearson(first, second) == Approx(*stats::pearson(few1, few2)).epsilon(1e-10));
}
