// The same numbers a second time: slowly and obviously, or as printed, through the one function
// that the command and the reports call.
#include <cmath>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/agreement.hpp"
#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

struct Errors {
  double kappa, se, se0;
};

/// Fleiss, Cohen & Everitt 1969 as printed: equations for the weighted kappa and its two errors.
Errors kappa_as_printed(const CrossTable& table, const AgreementWeights& w) {
  const std::size_t q = table.categories();
  const auto n = static_cast<double>(table.cases());
  std::vector<double> row(q), column(q), wi(q), wj(q);
  const auto p = [&](std::size_t i, std::size_t j) { return static_cast<double>(table.at(i, j)) / n; };
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      row[i] += p(i, j);
      column[j] += p(i, j);
    }
  double po = 0, pe = 0;
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      po += w(i, j) * p(i, j);
      pe += w(i, j) * row[i] * column[j];
      wi[i] += w(i, j) * column[j];
      wj[j] += w(i, j) * row[i];
    }
  double sum = 0, sum0 = 0;
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      sum += p(i, j) * std::pow(w(i, j) * (1 - pe) - (wi[i] + wj[j]) * (1 - po), 2);
      sum0 += row[i] * column[j] * std::pow(w(i, j) - (wi[i] + wj[j]), 2);
    }
  const double variance = (sum - std::pow(po * pe - 2 * pe + po, 2)) / (n * std::pow(1 - pe, 4));
  const double variance0 = (sum0 - pe * pe) / (n * std::pow(1 - pe, 2));
  return {(po - pe) / (1 - pe), std::sqrt(std::max(0.0, variance)), std::sqrt(std::max(0.0, variance0))};
}

/// Raters who mostly follow a key on five levels; some cells missing, some filled.
ScoreMatrix simulated(std::uint64_t seed, std::size_t raters, std::size_t cases, std::size_t items) {
  base::Random random(seed);
  ScoreMatrix m;
  for (std::size_t r = 0; r < raters; ++r) m.raters.push_back("r" + std::to_string(r));
  m.raters.insert(m.raters.begin() + 1, "key");
  m.key = 1;
  for (std::size_t c = 0; c < cases; ++c) m.cases.push_back("c" + std::to_string(c));
  for (std::size_t i = 0; i < items; ++i) m.items.push_back("i" + std::to_string(i));
  m.categories = {"0", "1", "2", "3", "4"};
  m.resize_cells();
  for (std::size_t i = 0; i < items; ++i)
    for (std::size_t c = 0; c < cases; ++c) {
      const auto key = static_cast<std::int32_t>(random.index(5));
      for (std::size_t r = 0; r < m.raters.size(); ++r) {
        auto& cell = m.at(i, r, c);
        cell.category = key;
        if (r == 1) continue;
        if (random.chance(0.4)) cell.category = static_cast<std::int32_t>(random.index(5));
        if (random.chance(0.05)) cell.category = -1;
        cell.filled = cell.category >= 0 && random.chance(0.05);
      }
    }
  return m;
}

struct Tallied {
  double n = 0, exact = 0, within = 0, signed_sum = 0, absolute = 0;
  std::vector<double> by_case_n, by_case_exact;
};

/// All scores of one item (or all items) and one rater (or all) against the key.
Tallied tally(const ScoreMatrix& m, std::optional<std::size_t> item, std::optional<std::size_t> rater) {
  Tallied t;
  t.by_case_n.resize(m.cases.size());
  t.by_case_exact.resize(m.cases.size());
  for (std::size_t i = 0; i < m.items.size(); ++i)
    for (std::size_t r = 0; r < m.raters.size(); ++r)
      for (std::size_t c = 0; c < m.cases.size(); ++c) {
        const auto score = m.at(i, r, c), key = m.at(i, *m.key, c);
        if ((item && *item != i) || (rater && *rater != r) || r == *m.key) continue;
        if (score.category < 0 || score.filled) continue;
        const double d = score.category - key.category;
        t.n += 1;
        t.exact += d == 0 ? 1 : 0;
        t.within += std::abs(d) <= 1 ? 1 : 0;
        t.signed_sum += d;
        t.absolute += std::abs(d);
        t.by_case_n[c] += 1;
        t.by_case_exact[c] += d == 0 ? 1 : 0;
      }
  return t;
}

constexpr double t_7_975 = 2.36462425159278;  // R 4.2.2: qt(.975, 7)

ScoreMatrix without_case(const ScoreMatrix& m, std::size_t gone) {
  ScoreMatrix fewer = m;
  fewer.cases.erase(fewer.cases.begin() + static_cast<std::ptrdiff_t>(gone));
  fewer.resize_cells();
  for (std::size_t item = 0; item < m.items.size(); ++item)
    for (std::size_t r = 0; r < m.raters.size(); ++r)
      for (std::size_t c = 0; c < m.cases.size(); ++c)
        if (c != gone) fewer.at(item, r, c - (c > gone ? 1 : 0)) = m.at(item, r, c);
  return fewer;
}

}  // namespace

TEST_CASE("the six forms of Shrout and Fleiss come out of the whole computation", "[reference]") {
  // Shrout PE, Fleiss JL (1979). Psychological Bulletin 86:420-428, table 2 (data) and table 4
  // (.17 .29 .71 .44 .62 .91); limits recomputed with R 4.2.2, psych 2.2.9, ICC(lmer=FALSE).
  ScoreMatrix m;
  m.raters = {"1", "2", "3", "4"};
  m.cases = {"1", "2", "3", "4", "5", "6"};
  m.items = {""};
  for (int i = 1; i <= 10; ++i) m.categories.push_back(std::to_string(i));
  m.resize_cells();
  const int data[6][4] = {{9, 2, 5, 8}, {6, 1, 3, 2},  {8, 4, 6, 8},
                          {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}};
  for (std::size_t c = 0; c < 6; ++c)
    for (std::size_t r = 0; r < 4; ++r) m.at(0, r, c).category = data[c][r] - 1;
  const auto result = agreement::agreement(m, {.level = Level::interval});
  REQUIRE(result);
  CHECK(result->input.scores == 24);
  CHECK(result->input.missing == 0);
  REQUIRE(result->measures.size() == 1);
  const Measure& one = result->measures[0];
  CHECK_FALSE(one.item.has_value());
  CHECK(one.used.cases == 6);
  CHECK(one.pairs.size() == 6);

  const std::map<std::string, std::vector<double>> printed{
      {"ICC(1,1)", {.166, -.133, .723}}, {"ICC(2,1)", {.290, .019, .761}}, {"ICC(3,1)", {.715, .342, .946}},
      {"ICC(1,k)", {.443, -.884, .912}}, {"ICC(2,k)", {.620, .071, .927}}, {"ICC(3,k)", {.909, .676, .986}}};
  for (const Icc& icc : one.icc) {
    const auto name = name_of(icc.form);
    INFO(name.form);
    const auto& row = printed.at(std::string(name.form));
    CHECK(*icc.icc.estimate == Approx(row[0]).margin(0.0005));
    CHECK(*icc.icc.lower == Approx(row[1]).margin(0.0005));
    CHECK(*icc.icc.upper == Approx(row[2]).margin(0.0005));
  }
  CHECK(name_of(IccForm::icc_2_1).also == "ICC(A,1)");
}

TEST_CASE("kappa and both its errors agree with the printed equations", "[property]") {
  base::Random random(21);
  for (int round = 0; round < 300; ++round) {
    const std::size_t q = 2 + random.index(5);
    CrossTable table(q);
    const std::size_t n = 5 + random.index(60);
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t a = random.index(q);
      table.add(a, random.chance(0.5) ? a : random.index(q));
    }
    for (const Weights weights : {Weights::none, Weights::linear, Weights::quadratic}) {
      const auto w = AgreementWeights::by_index(q, weights);
      const Kappa fast = kappa(table, w);
      if (!fast.kappa.estimate) continue;
      const Errors slow = kappa_as_printed(table, w);
      CHECK(*fast.kappa.estimate == Approx(slow.kappa).margin(1e-10));
      CHECK(*fast.se == Approx(slow.se).epsilon(1e-8).margin(2e-7));
      CHECK(*fast.se0 == Approx(slow.se0).epsilon(1e-8).margin(2e-7));
      CHECK(*kappa_estimate(table, w) == Approx(slow.kappa).margin(1e-10));
    }
  }
}

TEST_CASE("disagreement against the key agrees with counting it", "[property]") {
  for (const std::uint64_t seed : {1U, 2U, 3U}) {
    const ScoreMatrix m = simulated(seed, 3, 9, 4);
    const auto result = agreement::agreement(m);
    REQUIRE(result);
    REQUIRE(result->measures.size() == 5);
    const Tallied all = tally(m, {}, {});
    double shares = 0;
    for (std::size_t item = 0; item < 4; ++item) {
      const Disagreement& d = result->measures[item].disagreement;
      const Tallied t = tally(m, item, {});
      CHECK(static_cast<double>(d.n) == t.n);
      CHECK(*d.exact.estimate == Approx(t.exact / t.n));
      CHECK(*d.within_one.estimate == Approx(t.within / t.n));
      CHECK(*d.mean_signed.estimate == Approx(t.signed_sum / t.n).margin(1e-12));
      CHECK(*d.mae.estimate == Approx(t.absolute / t.n));
      CHECK(*d.share.estimate == Approx(t.absolute / all.absolute));
      shares += *d.share.estimate;
      REQUIRE(d.differences.size() == 9);
      double counted = 0, weighted = 0;
      for (std::size_t k = 0; k < 9; ++k) {
        counted += static_cast<double>(d.differences[k]);
        weighted += static_cast<double>(d.differences[k]) * (static_cast<double>(k) - 4);
      }
      CHECK(counted == t.n);
      CHECK(weighted == t.signed_sum);
    }
    CHECK(shares == Approx(1.0));
    CHECK_FALSE(result->measures[4].disagreement.share.estimate.defined());
  }
}

TEST_CASE("across items, each rater and the group agree with counting", "[property]") {
  const ScoreMatrix m = simulated(7, 3, 9, 4);
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  const AcrossItems& across = result->across_items;
  const Tallied all = tally(m, {}, {});
  CHECK(static_cast<double>(across.n) == all.n);
  CHECK(*across.exact.estimate == Approx(all.exact / all.n));
  CHECK(*across.bias.estimate == Approx(all.signed_sum / all.n));
  REQUIRE(across.per_rater.size() == 3);
  for (const AcrossItemsOfRater& mine : across.per_rater) {
    CHECK(mine.rater != *m.key);
    const Tallied t = tally(m, {}, mine.rater);
    CHECK(static_cast<double>(mine.n) == t.n);
    CHECK(*mine.exact.estimate == Approx(t.exact / t.n));
    CHECK(*mine.within_one.estimate == Approx(t.within / t.n));
    // Mean of this rater's item kappas, as the pairs with the key give them.
    double sum = 0;
    std::size_t items = 0;
    for (std::size_t item = 0; item < 4; ++item)
      for (const Pair& pair : result->measures[item].pairs)
        if (pair.first == mine.rater && pair.second == *m.key && pair.kappa.quadratic.kappa.estimate) {
          sum += *pair.kappa.quadratic.kappa.estimate;
          ++items;
        }
    CHECK(mine.mean_item_kappa.quadratic.items == items);
    CHECK(*mine.mean_item_kappa.quadratic.estimate == Approx(sum / static_cast<double>(items)).margin(1e-12));
  }
}

TEST_CASE("with as many scores in every case the interval by case is a t interval over cases", "[property]") {
  ScoreMatrix m = simulated(8, 2, 6, 3);
  for (auto& cell : m.cells) {
    cell.filled = false;
    cell.category = std::max(cell.category, 0);
  }
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  const Tallied t = tally(m, {}, {});
  double mean = 0, squares = 0;
  for (std::size_t c = 0; c < 6; ++c) mean += t.by_case_exact[c] / t.by_case_n[c] / 6;
  for (std::size_t c = 0; c < 6; ++c) squares += std::pow(t.by_case_exact[c] / t.by_case_n[c] - mean, 2);
  const double t_975_5 = 2.570581835636314;  // R 4.2.2: qt(.975, 5)
  const double half = t_975_5 * std::sqrt(squares / 5 / 6);
  const Estimate& exact = result->across_items.exact;
  CHECK(*exact.estimate == Approx(mean));
  CHECK(*exact.lower == Approx(mean - half));
  CHECK(*exact.upper == Approx(mean + half));
}

TEST_CASE("pairs put the key second and first, then go in order of first appearance") {
  const ScoreMatrix m = simulated(9, 3, 5, 1);  // r0 key r1 r2
  const auto result = agreement::agreement(m);
  REQUIRE(result);
  std::vector<std::string> pairs;
  for (const Pair& pair : result->measures[0].pairs)
    pairs.push_back(m.raters[pair.first] + " " + m.raters[pair.second]);
  CHECK(pairs == std::vector<std::string>{"r0 key", "r1 key", "r2 key", "r0 r1", "r0 r2", "r1 r2"});
}

TEST_CASE("above thirty raters only pairs with the key are made, unless all are asked for") {
  const ScoreMatrix m = simulated(10, 31, 3, 1);
  const auto count = [&](PairChoice choice) {
    return agreement::agreement(m, {.pairs = choice})->measures[0].pairs.size();
  };
  CHECK(count(PairChoice::automatic) == 31);
  CHECK(count(PairChoice::with_key) == 31);
  CHECK(count(PairChoice::all) == 31 + 31 * 30 / 2);
  CHECK(agreement::agreement(simulated(10, 30, 3, 1))->measures[0].pairs.size() == 30 + 30 * 29 / 2);
}

TEST_CASE("names and order of raters and cases change no number", "[property]") {
  const ScoreMatrix m = simulated(11, 4, 8, 2);
  ScoreMatrix turned = m;
  const std::size_t R = m.raters.size(), C = m.cases.size();
  for (std::size_t r = 0; r < R; ++r) turned.raters[r] = "x" + m.raters[R - 1 - r];
  for (std::size_t c = 0; c < C; ++c) turned.cases[c] = "y" + m.cases[C - 1 - c];
  turned.key = R - 1 - *m.key;
  for (std::size_t i = 0; i < 2; ++i)
    for (std::size_t r = 0; r < R; ++r)
      for (std::size_t c = 0; c < C; ++c) turned.at(i, r, c) = m.at(i, R - 1 - r, C - 1 - c);
  const auto a = agreement::agreement(m), b = agreement::agreement(turned);
  REQUIRE((a && b));
  for (std::size_t i = 0; i < 3; ++i) {
    const Measure &x = a->measures[i], &y = b->measures[i];
    CHECK(x.used.scores == y.used.scores);
    for (std::size_t f = 0; f < 6; ++f) {
      REQUIRE(x.icc[f].icc.estimate.defined() == y.icc[f].icc.estimate.defined());
      if (x.icc[f].icc.estimate)
        CHECK(*x.icc[f].icc.estimate == Approx(*y.icc[f].icc.estimate).margin(1e-10));
    }
    CHECK(*x.disagreement.exact.estimate == Approx(*y.disagreement.exact.estimate));
  }
  CHECK(*a->across_items.bias.lower == Approx(*b->across_items.bias.lower));
}

TEST_CASE("the total counts every sum that can occur, so that weights keep their places") {
  const auto result = agreement::agreement(simulated(12, 2, 6, 3));
  REQUIRE(result);
  const Measure& total = result->measures.back();
  CHECK(total.total);
  CHECK(total.item == "total");
  CHECK(total.scale.level == Level::interval);
  CHECK(total.scale.categories.size() == 13);
  CHECK(total.scale.categories.back() == "12");
}

TEST_CASE("limits of the mean item kappa are those of tables that really lose a case", "[property]") {
  const AgreementOptions options{.only = {Statistic::across_items, Statistic::kappa}, .resamples = 0};
  const auto means_of = [&](const ScoreMatrix& m) {
    const auto result = agreement::agreement(m, options);
    REQUIRE(result);
    return result->across_items;
  };
  constexpr std::size_t cases = 8;
  for (std::uint64_t seed = 50; seed < 70; ++seed) {
    const ScoreMatrix m = simulated(seed, 3, cases, 4);
    const AcrossItems all = means_of(m);
    std::vector<AcrossItems> left;
    for (std::size_t c = 0; c < cases; ++c) left.push_back(means_of(without_case(m, c)));
    for (const auto weights : {&ByWeights<MeanItemKappa>::none, &ByWeights<MeanItemKappa>::linear,
                               &ByWeights<MeanItemKappa>::quadratic}) {
      double mean = 0.0, squares = 0.0;
      for (const auto& one : left) mean += std::atanh(*(one.mean_item_kappa.*weights).estimate) / cases;
      for (const auto& one : left)
        squares += std::pow(std::atanh(*(one.mean_item_kappa.*weights).estimate) - mean, 2);
      const double half = t_7_975 * std::sqrt((cases - 1.0) / cases * squares);
      const double middle = std::atanh(*(all.mean_item_kappa.*weights).estimate);
      const Estimate& limits = weights == &ByWeights<MeanItemKappa>::none ? all.mean_item_kappa_limits.none
                               : weights == &ByWeights<MeanItemKappa>::linear
                                   ? all.mean_item_kappa_limits.linear
                                   : all.mean_item_kappa_limits.quadratic;
      CHECK(*limits.lower == Approx(std::tanh(middle - half)).epsilon(1e-10));
      CHECK(*limits.upper == Approx(std::tanh(middle + half)).epsilon(1e-10));
    }
  }
}

TEST_CASE("the limits of an item's kappas come from leaving out whole cases", "[property]") {
  const AgreementOptions options{.only = {Statistic::disagreement}, .resamples = 0};
  const auto kappas_of = [&](const ScoreMatrix& m) {
    const auto result = agreement::agreement(m, options);
    REQUIRE(result);
    return result->measures[0].disagreement.kappa;
  };
  constexpr std::size_t cases = 8;
  std::size_t held = 0;
  for (std::uint64_t seed = 80; seed < 100; ++seed) {
    const ScoreMatrix m = simulated(seed, 3, cases, 1);
    const ByWeights<Estimate> all = kappas_of(m);
    std::vector<ByWeights<Estimate>> left;
    for (std::size_t c = 0; c < cases; ++c) left.push_back(kappas_of(without_case(m, c)));
    for (const auto weights :
         {&ByWeights<Estimate>::none, &ByWeights<Estimate>::linear, &ByWeights<Estimate>::quadratic}) {
      if (!(all.*weights).lower) continue;
      double mean = 0.0, squares = 0.0;
      for (const auto& one : left) mean += std::atanh(*(one.*weights).estimate) / cases;
      for (const auto& one : left) squares += std::pow(std::atanh(*(one.*weights).estimate) - mean, 2);
      const double half = t_7_975 * std::sqrt((cases - 1.0) / cases * squares);
      const double middle = std::atanh(*(all.*weights).estimate);
      CHECK(*(all.*weights).lower == Approx(std::tanh(middle - half)).epsilon(1e-10));
      CHECK(*(all.*weights).upper == Approx(std::tanh(middle + half)).epsilon(1e-10));
      ++held;
    }
  }
  CHECK(held >= 50);
}
