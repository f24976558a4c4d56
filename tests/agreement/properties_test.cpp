// What must not change when nothing that matters changes, on random tables from fixed seeds.
#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

#include "agreement/bias.hpp"
#include "agreement/icc.hpp"
#include "agreement/kappa.hpp"
#include "agreement/rating_table.hpp"
#include "base/random.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

using Rows = std::vector<std::vector<RatingTable::Cell>>;

Rows random_rows(base::Random& random, std::size_t cases, std::size_t raters) {
  Rows rows(cases, std::vector<RatingTable::Cell>(raters));
  for (auto& row : rows) {
    const double truth = random.normal(0, 2);
    for (auto& cell : row) cell = std::round(truth + random.normal());
  }
  return rows;
}

double icc_of(const Rows& rows, IccForm form) {
  const auto table = RatingTable::from_rows(rows);
  REQUIRE(table);
  const auto value = icc(*table, form).icc.estimate;
  REQUIRE(value.defined());
  return *value;
}

/// ICC(2,1) and ICC(3,1) from their definitions, slowly: variances of all pairs of cells.
double icc_slow(const Rows& rows, bool agreement) {
  const auto n = static_cast<double>(rows.size()), k = static_cast<double>(rows[0].size());
  double grand = 0;
  for (const auto& row : rows)
    for (const auto& cell : row) grand += *cell / (n * k);
  double rows_ss = 0, columns_ss = 0, total_ss = 0;
  for (const auto& row : rows) {
    double mean = 0;
    for (const auto& cell : row) mean += *cell / k;
    rows_ss += k * (mean - grand) * (mean - grand);
    for (const auto& cell : row) total_ss += (*cell - grand) * (*cell - grand);
  }
  for (std::size_t j = 0; j < rows[0].size(); ++j) {
    double mean = 0;
    for (const auto& row : rows) mean += *row[j] / n;
    columns_ss += n * (mean - grand) * (mean - grand);
  }
  const double msr = rows_ss / (n - 1), msc = columns_ss / (k - 1),
               mse = (total_ss - rows_ss - columns_ss) / ((n - 1) * (k - 1));
  return agreement ? (msr - mse) / (msr + (k - 1) * mse + k * (msc - mse) / n)
                   : (msr - mse) / (msr + (k - 1) * mse);
}

}  // namespace

TEST_CASE("the order of raters and cases changes no ICC", "[property]") {
  base::Random random(11);
  for (int round = 0; round < 200; ++round) {
    Rows rows = random_rows(random, 3 + random.index(10), 2 + random.index(5));
    Rows other = rows;
    random.shuffle(std::span<std::vector<RatingTable::Cell>>(other));
    for (auto& row : other) std::rotate(row.begin(), row.begin() + 1, row.end());
    for (const IccForm form : icc_forms)
      CHECK(icc_of(rows, form) == Approx(icc_of(other, form)).margin(1e-10));
  }
}

TEST_CASE("another unit changes no ICC, and a constant shift of one rater only agreement", "[property]") {
  base::Random random(12);
  for (int round = 0; round < 200; ++round) {
    const Rows rows = random_rows(random, 4 + random.index(10), 2 + random.index(4));
    Rows scaled = rows, shifted = rows;
    for (auto& row : scaled)
      for (auto& cell : row) cell = 2.5 * *cell - 7;
    for (auto& row : shifted) row[0] = *row[0] + 3;
    for (const IccForm form : icc_forms)
      CHECK(icc_of(rows, form) == Approx(icc_of(scaled, form)).margin(1e-10));
    CHECK(icc_of(rows, IccForm::icc_3_1) == Approx(icc_of(shifted, IccForm::icc_3_1)).margin(1e-10));
  }
}

TEST_CASE("ICC agrees with a second, slow computation", "[property]") {
  base::Random random(13);
  for (int round = 0; round < 300; ++round) {
    const Rows rows = random_rows(random, 3 + random.index(12), 2 + random.index(6));
    CHECK(icc_of(rows, IccForm::icc_2_1) == Approx(icc_slow(rows, true)).epsilon(1e-10).margin(1e-10));
    CHECK(icc_of(rows, IccForm::icc_3_1) == Approx(icc_slow(rows, false)).epsilon(1e-10).margin(1e-10));
  }
}

TEST_CASE("large offsets and tiny spreads lose no digits", "[property]") {
  base::Random random(14);
  const Rows rows = random_rows(random, 12, 4);
  Rows far = rows, tiny = rows;
  for (auto& row : far)
    for (auto& cell : row) cell = *cell + 1e9;
  for (auto& row : tiny)
    for (auto& cell : row) cell = *cell * 1e-9;
  for (const IccForm form : icc_forms) {
    CHECK(icc_of(far, form) == Approx(icc_of(rows, form)).epsilon(1e-9));
    CHECK(icc_of(tiny, form) == Approx(icc_of(rows, form)).epsilon(1e-9));
  }
}

TEST_CASE("quadratic kappa of equally spaced categories is Lin's concordance with 1/n moments",
          "[property]") {
  // Fleiss & Cohen 1973; the identity is exact with population moments.
  base::Random random(15);
  for (int round = 0; round < 200; ++round) {
    CrossTable table(5);
    std::vector<double> x, y;
    for (int i = 0; i < 30; ++i) {
      x.push_back(static_cast<double>(random.index(5)));
      y.push_back(std::min(4.0, std::max(0.0, x.back() + std::round(random.normal()))));
      table.add(static_cast<std::size_t>(x.back()), static_cast<std::size_t>(y.back()));
    }
    const double n = 30, mx = std::accumulate(x.begin(), x.end(), 0.0) / n,
                 my = std::accumulate(y.begin(), y.end(), 0.0) / n;
    double vx = 0, vy = 0, cov = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      vx += (x[i] - mx) * (x[i] - mx) / n;
      vy += (y[i] - my) * (y[i] - my) / n;
      cov += (x[i] - mx) * (y[i] - my) / n;
    }
    const double concordance = 2 * cov / (vx + vy + (mx - my) * (mx - my));
    const auto k = kappa(table, AgreementWeights::by_index(5, Weights::quadratic)).kappa.estimate;
    REQUIRE(k.defined());
    CHECK(*k == Approx(concordance).margin(1e-10));
  }
}

TEST_CASE("a table counted twice keeps its kappa, and relabeled raters its value", "[property]") {
  base::Random random(16);
  CrossTable once(4), twice(4), swapped(4);
  for (int i = 0; i < 40; ++i) {
    const std::size_t a = random.index(4), b = random.chance(0.6) ? a : random.index(4);
    once.add(a, b);
    twice.add(a, b);
    twice.add(a, b);
    swapped.add(b, a);
  }
  for (const Weights w : {Weights::none, Weights::linear, Weights::quadratic}) {
    const auto weights = AgreementWeights::by_index(4, w);
    CHECK(*kappa(once, weights).kappa.estimate ==
          Approx(*kappa(twice, weights).kappa.estimate).margin(1e-12));
    CHECK(*kappa(once, weights).kappa.estimate ==
          Approx(*kappa(swapped, weights).kappa.estimate).margin(1e-12));
  }
}

TEST_CASE("a constant moves the bias by itself") {
  const std::vector<double> a{1, 2, 3, 4, 5, 7}, b{1, 1, 3, 5, 5, 6};
  std::vector<double> moved = a;
  for (double& x : moved) x += 2;
  CHECK(*bias(moved, b).bias.estimate == Approx(*bias(a, b).bias.estimate + 2).margin(1e-12));
}
