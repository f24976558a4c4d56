// Every coefficient beside kappa and the ICC a second time on small random tables with gaps: slowly,
// score by score, from the definition as its paper prints it.
#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <optional>
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
#include "base/random.hpp"
#include "stats/correlation.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t tables = 200;

/// Scores case by case; below 0: no score.
struct Scores {
  std::size_t q;
  std::vector<std::vector<int>> rows;

  std::size_t cases() const { return rows.size(); }
  std::size_t raters() const { return rows.empty() ? 0 : rows[0].size(); }
  std::vector<std::int32_t> places() const {
    std::vector<std::int32_t> all(cases() * raters());
    for (std::size_t r = 0; r < raters(); ++r)
      for (std::size_t c = 0; c < cases(); ++c) all[r * cases() + c] = rows[c][r];
    return all;
  }
  Scores complete() const {
    Scores kept{q, {}};
    for (const auto& row : rows)
      if (std::all_of(row.begin(), row.end(), [](int s) { return s >= 0; })) kept.rows.push_back(row);
    return kept;
  }
};

Scores random_scores(base::Random& random, std::size_t raters) {
  Scores scores{2 + random.index(4), {}};
  const double gap = 0.4 * random.uniform(), stray = random.uniform(), skew = random.uniform();
  scores.rows.assign(2 + random.index(11), std::vector<int>(raters));
  for (auto& row : scores.rows) {
    const auto draw = [&] { return random.chance(skew) ? 0 : static_cast<int>(random.index(scores.q)); };
    const int truth = draw();
    for (int& score : row) score = random.chance(gap) ? -1 : random.chance(stray) ? draw() : truth;
  }
  return scores;
}

AgreementWeights random_weights(base::Random& random, std::size_t q) {
  if (random.chance(0.3)) {
    std::vector<double> matrix(q * q);
    for (std::size_t i = 0; i < q * q; ++i) matrix[i] = i % (q + 1) == 0 ? 1.0 : 0.9 * random.uniform();
    return AgreementWeights::from_matrix(matrix).value();
  }
  return AgreementWeights::by_index(
      q, std::vector{Weights::none, Weights::linear, Weights::quadratic}[random.index(3)]);
}

void check(const Value& value, double slow, double tolerance = 1e-10) {
  INFO((value ? std::to_string(*value) : std::string(value.why())) << " where slowly " << slow);
  if (std::isnan(slow))
    CHECK_FALSE(value.defined());
  else
    CHECK((value.defined() && std::abs(*value - slow) <= tolerance * std::max(1.0, std::abs(slow))));
}

double ratio(double a, double b) { return std::abs(b) < 1e-13 ? none : a / b; }

std::vector<int> given(const std::vector<int>& row) {
  std::vector<int> scores;
  std::copy_if(row.begin(), row.end(), std::back_inserter(scores), [](int s) { return s >= 0; });
  return scores;
}

std::size_t at(int score) { return static_cast<std::size_t>(score); }

/// Mean weight of the pairs of different ratings.
double agreeing_pairs(const std::vector<int>& scores, const AgreementWeights& w) {
  double sum = 0, pairs = 0;
  for (std::size_t a = 0; a < scores.size(); ++a)
    for (std::size_t b = 0; b < scores.size(); ++b)
      if (a != b) sum += w(at(scores[a]), at(scores[b])), ++pairs;
  return sum / pairs;
}

std::vector<double> shares(const std::vector<int>& scores, std::size_t q) {
  std::vector<double> share(q);
  for (const int s : scores) share[at(s)] += 1.0 / static_cast<double>(scores.size());
  return share;
}

/// Agreement by chance from the categories' shares; bilinear, so that two different shares may stand.
using ByChance =
    std::function<double(const std::vector<double>&, const std::vector<double>&, const AgreementWeights&)>;

double total(const AgreementWeights& w) {
  double sum = 0;
  for (std::size_t i = 0; i < w.categories(); ++i)
    for (std::size_t j = 0; j < w.categories(); ++j) sum += w(i, j);
  return sum;
}

double by_gwet(const std::vector<double>& a, const std::vector<double>& b, const AgreementWeights& w) {
  const auto q = static_cast<double>(a.size());
  double sum = 0;
  for (std::size_t k = 0; k < a.size(); ++k) sum += a[k] * (1 - b[k]);
  return total(w) / (q * (q - 1)) * sum;
}

double by_brennan_prediger(const std::vector<double>& a, const std::vector<double>&,
                           const AgreementWeights& w) {
  return total(w) / static_cast<double>(a.size() * a.size());
}

double by_fleiss(const std::vector<double>& a, const std::vector<double>& b, const AgreementWeights& w) {
  double sum = 0;
  for (std::size_t k = 0; k < a.size(); ++k)
    for (std::size_t l = 0; l < a.size(); ++l) sum += (w(k, l) + w(l, k)) / 2 * a[k] * b[l];
  return sum;
}

struct Slow {
  double coefficient = none, se = none, agreement = none;
};

/// Gwet 2014 as printed.
Slow in_gwets_form(const Scores& scores, const AgreementWeights& w, const ByChance& by_chance) {
  std::vector<std::vector<int>> rated;
  for (const auto& row : scores.rows)
    if (!given(row).empty()) rated.push_back(given(row));
  const auto n = static_cast<double>(rated.size());
  std::vector<double> mean(scores.q);
  double n2 = 0, pa = 0;
  for (const auto& row : rated) {
    const auto share = shares(row, scores.q);
    for (std::size_t k = 0; k < scores.q; ++k) mean[k] += share[k] / n;
    if (row.size() >= 2) pa += agreeing_pairs(row, w), ++n2;
  }
  if (n2 == 0) return {};
  pa /= n2;
  const double pe = by_chance(mean, mean, w);
  Slow slow{ratio(pa - pe, 1 - pe), none, pa};
  if (std::isnan(slow.coefficient) || n < 2) return slow;
  double squares = 0;
  for (const auto& row : rated) {
    const double own = row.size() < 2 ? 0 : n / n2 * (agreeing_pairs(row, w) - pe) / (1 - pe);
    const double pe_i = by_chance(shares(row, scores.q), mean, w);
    const double g_i = own - 2 * (1 - slow.coefficient) * (pe_i - pe) / (1 - pe);
    squares += (g_i - slow.coefficient) * (g_i - slow.coefficient);
  }
  slow.se = std::sqrt(squares / (n * (n - 1)));
  return slow;
}

/// The error once more: from the change of the coefficient with the weight of each case, numerically.
double error_by_derivative(const Scores& scores, const AgreementWeights& w, const ByChance& by_chance) {
  std::vector<std::vector<int>> rated;
  for (const auto& row : scores.rows)
    if (!given(row).empty()) rated.push_back(given(row));
  const auto n = static_cast<double>(rated.size());
  const auto coefficient = [&](std::size_t which, double weight) {
    std::vector<double> mean(scores.q);
    double n2 = 0, pa = 0, all = 0;
    for (std::size_t i = 0; i < rated.size(); ++i) {
      const double times = i == which ? weight : 1.0;
      const auto share = shares(rated[i], scores.q);
      for (std::size_t k = 0; k < scores.q; ++k) mean[k] += times * share[k];
      all += times;
      if (rated[i].size() >= 2) pa += times * agreeing_pairs(rated[i], w), n2 += times;
    }
    for (double& share : mean) share /= all;
    const double pe = by_chance(mean, mean, w);
    return (pa / n2 - pe) / (1 - pe);
  };
  double squares = 0;
  for (std::size_t i = 0; i < rated.size(); ++i) {
    const double h = 1e-4;
    const double slope = n *
                         (8 * (coefficient(i, 1 + h) - coefficient(i, 1 - h)) -
                          (coefficient(i, 1 + 2 * h) - coefficient(i, 1 - 2 * h))) /
                         (12 * h);
    squares += slope * slope;
  }
  return std::sqrt(squares / (n * (n - 1)));
}

double kappa_of_two(const std::vector<std::pair<int, int>>& pairs, const AgreementWeights& w) {
  double po = 0, pe = 0;
  const auto n = static_cast<double>(pairs.size());
  if (pairs.empty()) return none;
  for (const auto& a : pairs) {
    po += w(at(a.first), at(a.second)) / n;
    for (const auto& b : pairs) pe += w(at(a.first), at(b.second)) / (n * n);
  }
  return ratio(po - pe, 1 - pe);
}

std::vector<std::pair<int, int>> pair_of(const Scores& scores, std::size_t a, std::size_t b) {
  std::vector<std::pair<int, int>> pairs;
  for (const auto& row : scores.rows)
    if (row[a] >= 0 && row[b] >= 0) pairs.emplace_back(row[a], row[b]);
  return pairs;
}

double light_slowly(const Scores& scores, const AgreementWeights& w) {
  double sum = 0, pairs = 0;
  for (std::size_t a = 0; a < scores.raters(); ++a)
    for (std::size_t b = a + 1; b < scores.raters(); ++b)
      sum += kappa_of_two(pair_of(scores, a, b), w), ++pairs;
  return sum / pairs;
}

double conger_slowly(const Scores& scores, const AgreementWeights& w) {
  const Scores used = scores.complete();
  const auto n = static_cast<double>(used.cases());
  if (used.cases() == 0) return none;
  double po = 0, pe = 0, pairs = 0;
  for (std::size_t a = 0; a < used.raters(); ++a)
    for (std::size_t b = 0; b < used.raters(); ++b) {
      if (a == b) continue;
      ++pairs;
      for (const auto& x : used.rows) {
        po += w(at(x[a]), at(x[b])) / n;
        for (const auto& y : used.rows) pe += w(at(x[a]), at(y[b])) / (n * n);
      }
    }
  return ratio(po / pairs - pe / pairs, 1 - pe / pairs);
}

double squared_distance(AlphaMetric metric, const std::vector<double>& totals, std::size_t c, std::size_t k) {
  if (c == k) return 0;
  const auto a = static_cast<double>(c), b = static_cast<double>(k);
  if (metric == AlphaMetric::nominal) return 1;
  if (metric == AlphaMetric::interval) return (a - b) * (a - b);
  if (metric == AlphaMetric::ratio) return (a - b) * (a - b) / ((a + b) * (a + b));
  double between = 0;
  for (std::size_t g = std::min(c, k); g <= std::max(c, k); ++g) between += totals[g];
  between -= (totals[c] + totals[k]) / 2;
  return between * between;
}

/// Krippendorff 2011, pair by pair; a case stands as often as its weight says.
double alpha_slowly(const Scores& scores, AlphaMetric metric, const std::vector<double>& weights) {
  std::vector<std::vector<int>> units;
  for (std::size_t c = 0; c < scores.cases(); ++c)
    for (double w = 0; w < weights[c]; ++w)
      if (given(scores.rows[c]).size() >= 2) units.push_back(given(scores.rows[c]));
  if (units.size() < 2) return none;
  std::vector<double> totals(scores.q);
  std::vector<int> all;
  for (const auto& unit : units)
    for (const int s : unit) ++totals[at(s)], all.push_back(s);
  double observed = 0, by_chance = 0;
  for (const auto& unit : units)
    for (std::size_t a = 0; a < unit.size(); ++a)
      for (std::size_t b = 0; b < unit.size(); ++b)
        if (a != b)
          observed += squared_distance(metric, totals, at(unit[a]), at(unit[b])) /
                      static_cast<double>(unit.size() - 1);
  for (std::size_t a = 0; a < all.size(); ++a)
    for (std::size_t b = 0; b < all.size(); ++b)
      if (a != b) by_chance += squared_distance(metric, totals, at(all[a]), at(all[b]));
  return 1 - ratio((static_cast<double>(all.size()) - 1) * observed, by_chance);
}

/// Values below plus half of the equal ones.
double rank_of(const std::vector<double>& values, double value) {
  double below = 0, equal = 0;
  for (const double v : values) below += v < value ? 1 : 0, equal += v == value ? 1 : 0;
  return below + (equal + 1) / 2;
}

double pearson_slowly(const std::vector<double>& x, const std::vector<double>& y) {
  double xx = 0, yy = 0, xy = 0;  // over all pairs of cases: no mean is needed
  for (std::size_t i = 0; i < x.size(); ++i)
    for (std::size_t j = 0; j < x.size(); ++j) {
      xx += (x[i] - x[j]) * (x[i] - x[j]);
      yy += (y[i] - y[j]) * (y[i] - y[j]);
      xy += (x[i] - x[j]) * (y[i] - y[j]);
    }
  return ratio(xy, std::sqrt(xx * yy));
}

struct Columns2 {
  std::vector<double> x, y;
};

Columns2 random_pair(base::Random& random) {
  Columns2 pair;
  const std::size_t n = 3 + random.index(10);
  const double noise = random.uniform() * 3;
  const bool whole = random.chance(0.6);
  for (std::size_t i = 0; i < n; ++i) {
    const double truth = random.normal(0, 2);
    const double a = truth + noise * random.normal(), b = truth + noise * random.normal(1, 1);
    pair.x.push_back(whole ? std::round(a) : a);
    pair.y.push_back(whole ? std::round(b) : b);
  }
  return pair;
}

template <class F>
std::vector<double> mapped(const std::vector<double>& values, F f) {
  std::vector<double> result;
  for (const double v : values) result.push_back(f(v));
  return result;
}

/// d' (S + a one for each pair of categories in a group)^-1 d: the singular S made regular where d is
/// 0 (groups by reachability).
double stuart_maxwell_slowly(const CrossTable& table, double& df) {
  const std::size_t q = table.categories();
  std::vector<std::vector<double>> m(q, std::vector<double>(q + 1));
  std::vector<std::vector<bool>> reach(q, std::vector<bool>(q));
  const auto n = [&](std::size_t i, std::size_t j) { return static_cast<double>(table.at(i, j)); };
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      if (i == j || n(i, j) + n(j, i) > 0) reach[i][j] = true;
      m[i][q] += n(i, j) - n(j, i);
      if (i != j) m[i][i] += n(i, j) + n(j, i), m[i][j] -= n(i, j) + n(j, i);
    }
  for (std::size_t k = 0; k < q; ++k)
    for (std::size_t i = 0; i < q; ++i)
      for (std::size_t j = 0; j < q; ++j)
        if (reach[i][k] && reach[k][j]) reach[i][j] = true;
  df = 0;
  std::vector<double> d(q);
  for (std::size_t i = 0; i < q; ++i) {
    d[i] = m[i][q];
    for (std::size_t j = 0; j < q; ++j) m[i][j] += reach[i][j] ? 1 : 0;
    df += std::find(reach[i].begin(), reach[i].end(), true) - reach[i].begin() < static_cast<long>(i) ? 1 : 0;
  }
  if (df == 0) return none;
  for (std::size_t k = 0; k < q; ++k)
    for (std::size_t i = 0; i < q; ++i) {
      if (i == k) continue;
      const double f = m[i][k] / m[k][k];
      for (std::size_t j = k; j <= q; ++j) m[i][j] -= f * m[k][j];
    }
  double sum = 0;
  for (std::size_t i = 0; i < q; ++i) sum += d[i] * m[i][q] / m[i][i];
  return sum;
}

/// Twice the smaller tail of a fair coin, term by term.
double exact_slowly(std::size_t b, std::size_t c) {
  const std::size_t n = b + c;
  if (n == 0) return none;
  double term = std::pow(0.5, static_cast<double>(n)), tail = 0;
  for (std::size_t k = 0; k <= std::min(b, c); ++k) {
    tail += term;
    term *= static_cast<double>(n - k) / static_cast<double>(k + 1);
  }
  return std::min(1.0, 2 * tail);
}

}  // namespace

TEST_CASE("coefficients in Gwet's form come out the same score by score", "[property]") {
  base::Random random(11);
  std::size_t derivatives = 0;
  for (std::size_t i = 0; i < tables; ++i) {
    const Scores scores = random_scores(random, 2 + random.index(4));
    const auto w = random_weights(random, scores.q);
    const auto places = scores.places();
    const CategoryCounts counts = CategoryCounts::of({places, scores.raters(), scores.cases(), scores.q});
    const auto compare = [&](const ChanceCorrected& fast, const ByChance& by_chance) {
      const Slow slow = in_gwets_form(scores, w, by_chance);
      check(fast.coefficient.estimate, slow.coefficient);
      check(fast.se, slow.se);
      check(fast.agreement, slow.agreement);
      // Gwet's formula holds the number of cases with a pair fixed; where all have one it is the derivative.
      if (fast.se && fast.cases == fast.paired) {
        check(fast.se, error_by_derivative(scores, w, by_chance), 1e-6);
        ++derivatives;
      }
    };
    compare(gwet(counts, w), by_gwet);
    compare(brennan_prediger(counts, w), by_brennan_prediger);
    compare(fleiss_all_scores(counts, w), by_fleiss);
    check(pairwise_agreement(counts, w), in_gwets_form(scores, w, by_gwet).agreement);
  }
  CHECK(derivatives > 150);
}

TEST_CASE("a cross table filled in bulk is the one filled case by case", "[property]") {
  base::Random random(5);
  for (const std::size_t q : {1U, 2U, 5U, 30U})
    for (const std::size_t cases : {0U, 1U, 3U, 26U, 27U, 500U}) {
      CrossTable bulk(q), one(q);
      for (int times = 0; times < 2; ++times) {
        std::vector<std::int32_t> first, second;
        for (std::size_t i = 0; i < cases; ++i) {
          first.push_back(static_cast<std::int32_t>(random.index(q + 1)) - 1);
          second.push_back(static_cast<std::int32_t>(random.index(q + 1)) - 1);
          if (first.back() >= 0 && second.back() >= 0)
            one.add(static_cast<std::size_t>(first.back()), static_cast<std::size_t>(second.back()));
        }
        bulk.add_cases(first, second);
      }
      CHECK(bulk.cases() == one.cases());
      for (std::size_t a = 0; a < q; ++a)
        for (std::size_t b = 0; b < q; ++b) CHECK(bulk.at(a, b) == one.at(a, b));
    }
}

TEST_CASE("two raters' cross table gives what their scores give", "[property]") {
  base::Random random(12);
  for (std::size_t i = 0; i < tables; ++i) {
    const Scores scores = random_scores(random, 2);
    const auto w = random_weights(random, scores.q);
    const auto places = scores.places();
    const CategoryCounts counts = CategoryCounts::of({places, 2, scores.cases(), scores.q});
    CrossTable table(scores.q);
    std::vector<std::size_t> alone(scores.q);
    for (const auto& row : scores.rows) {
      if (row[0] >= 0 && row[1] >= 0)
        table.add(at(row[0]), at(row[1]));
      else if (std::max(row[0], row[1]) >= 0)
        ++alone[at(std::max(row[0], row[1]))];
    }
    const auto same = [](const ChanceCorrected& a, const ChanceCorrected& b) {
      check(a.coefficient.estimate, b.coefficient.estimate ? *b.coefficient.estimate : none, 1e-12);
      check(a.se, b.se ? *b.se : none, 1e-12);
      check(a.coefficient.lower, b.coefficient.lower ? *b.coefficient.lower : none, 1e-12);
      CHECK(a.cases == b.cases);
      CHECK(a.paired == b.paired);
    };
    same(gwet(table, w, 0.9, alone), gwet(counts, w, 0.9));
    same(brennan_prediger(table, w, 0.9, alone), brennan_prediger(counts, w, 0.9));
  }
}

TEST_CASE("Fleiss' kappas come out the same by the printed formulas", "[property]") {
  base::Random random(13);
  for (std::size_t i = 0; i < tables; ++i) {
    const Scores scores = random_scores(random, 2 + random.index(4));
    const auto places = scores.places();
    const FleissKappas fast = fleiss_kappa(
        CategoryCounts::of({places, scores.raters(), scores.cases(), scores.q}), scores.raters());
    const Scores used = scores.complete();
    const auto n = static_cast<double>(used.cases()), m = static_cast<double>(used.raters());
    CHECK(fast.cases == used.cases());
    if (used.cases() == 0) {
      CHECK_FALSE(fast.kappa.defined());
      continue;
    }
    std::vector<double> p(used.q), pairs(used.q);
    double mean = 0;
    for (const auto& row : used.rows)
      for (std::size_t j = 0; j < used.q; ++j) {
        const auto x = static_cast<double>(std::count(row.begin(), row.end(), static_cast<int>(j)));
        p[j] += x / (n * m);
        pairs[j] += x * (x - 1);
        mean += x * (x - 1) / (n * m * (m - 1));
      }
    double chance = 0, sum = 0, third = 0;
    for (const double share : p) {
      chance += share * share;
      sum += share * (1 - share);
      third += share * (1 - share) * (1 - 2 * share);
    }
    check(fast.kappa, ratio(mean - chance, 1 - chance));
    const double se0 =
        sum < 1e-13 ? none
                    : std::sqrt(2.0) / (sum * std::sqrt(n * m * (m - 1))) * std::sqrt(sum * sum - third);
    check(fast.se0, se0);
    check(fast.z, ratio(mean - chance, 1 - chance) / se0);
    for (std::size_t j = 0; j < used.q; ++j)
      check(fast.categories[j].kappa,
            p[j] < 1e-13 ? none : ratio(pairs[j] / (n * m * (m - 1) * p[j]) - p[j], 1 - p[j]));
  }
}

TEST_CASE("Conger's and Light's kappa come out the same pair by pair", "[property]") {
  base::Random random(14);
  for (std::size_t i = 0; i < tables; ++i) {
    const Scores scores = random_scores(random, 2 + random.index(4));
    const auto w = random_weights(random, scores.q);
    const auto places = scores.places();
    const Placings view{places, scores.raters(), scores.cases(), scores.q};
    check(conger_kappa(view, w), conger_slowly(scores, w));
    check(light_kappa(view, w), light_slowly(scores, w));
  }
}

TEST_CASE("alpha comes out the same pair by pair, for resampled cases and without each case", "[property]") {
  base::Random random(15);
  for (std::size_t i = 0; i < tables; ++i) {
    const Scores scores = random_scores(random, 2 + random.index(4));
    const auto places = scores.places();
    std::vector<double> values(scores.q);
    for (std::size_t k = 0; k < scores.q; ++k) values[k] = static_cast<double>(k);
    const AlphaUnits units(CategoryCounts::of({places, scores.raters(), scores.cases(), scores.q}), values);
    std::vector<double> once(scores.cases(), 1.0), resample(scores.cases(), 0.0);
    for (std::size_t c = 0; c < scores.cases(); ++c) resample[random.index(scores.cases())] += 1.0;
    for (const auto metric :
         {AlphaMetric::nominal, AlphaMetric::ordinal, AlphaMetric::interval, AlphaMetric::ratio}) {
      check(alpha(units, metric), alpha_slowly(scores, metric, once));
      check(alpha(units, metric, resample), alpha_slowly(scores, metric, resample));
      const auto without = alpha_without_each(units, metric);
      REQUIRE(without.size() == scores.cases());
      for (std::size_t c = 0; c < scores.cases(); ++c) {
        auto rest = once;
        rest[c] = 0.0;
        check(without[c], alpha_slowly(scores, metric, rest));
      }
    }
  }
}

TEST_CASE("Kendall's W comes out the same from ranks by counting", "[property]") {
  base::Random random(16);
  for (std::size_t i = 0; i < tables; ++i) {
    const Scores scores = random_scores(random, 2 + random.index(4));
    std::vector<std::vector<RatingTable::Cell>> rows;
    for (const auto& row : scores.rows) {
      rows.emplace_back();
      for (const int s : row) rows.back().push_back(s < 0 ? std::nullopt : RatingTable::Cell(s));
    }
    const RankConcordance fast = kendall_w(RatingTable::from_rows(rows).value());
    const Scores used = scores.complete();
    const auto n = static_cast<double>(used.cases()), m = static_cast<double>(used.raters());
    if (used.cases() < 2) {
      CHECK_FALSE(fast.w.defined());
      continue;
    }
    std::vector<double> sums(used.cases());
    double ties = 0;
    for (std::size_t r = 0; r < used.raters(); ++r) {
      std::vector<double> column;
      for (const auto& row : used.rows) column.push_back(row[r]);
      for (std::size_t c = 0; c < used.cases(); ++c) {
        sums[c] += rank_of(column, column[c]);
        const auto t = static_cast<double>(std::count(column.begin(), column.end(), column[c]));
        ties += t * t - 1;  // t times in its group: t^3 - t
      }
    }
    double s = 0;
    for (const double sum : sums) s += std::pow(sum - m * (n + 1) / 2, 2);
    check(fast.uncorrected, 12 * s / (m * m * (n * n * n - n)));
    const double w = ratio(12 * s, m * m * (n * n * n - n) - m * ties);
    check(fast.w, w);
    check(fast.chi2, m * (n - 1) * w);
    check(fast.f, n - 1 - 2 / m <= 0 ? none : ratio((m - 1) * w, 1 - w), 1e-9);
  }
}

TEST_CASE("concordance comes out the same by Lin's printed formulas", "[property]") {
  base::Random random(17);
  std::size_t limits = 0;
  for (std::size_t i = 0; i < tables; ++i) {
    const auto [x, y] = random_pair(random);
    const auto n = static_cast<double>(x.size());
    double mx = 0, my = 0, vx = 0, vy = 0, cxy = 0;
    for (std::size_t c = 0; c < x.size(); ++c) mx += x[c] / n, my += y[c] / n;
    for (std::size_t c = 0; c < x.size(); ++c) {
      vx += (x[c] - mx) * (x[c] - mx) / n;
      vy += (y[c] - my) * (y[c] - my) / n;
      cxy += (x[c] - mx) * (y[c] - my) / n;
    }
    const double rc = ratio(2 * cxy, vx + vy + (mx - my) * (mx - my));
    const Estimate fast = concordance(x, y);
    check(fast.estimate, rc);
    if (!fast.lower || std::abs(cxy) < 1e-9 || 1 - rc * rc < 1e-9) continue;
    ++limits;
    const double r = cxy / std::sqrt(vx * vy), u = (mx - my) / std::sqrt(std::sqrt(vx * vy));
    const double v = ((1 - r * r) * rc * rc / ((1 - rc * rc) * r * r) +
                      2 * std::pow(rc, 3) * (1 - rc) * u * u / (r * std::pow(1 - rc * rc, 2)) -
                      std::pow(rc, 4) * std::pow(u, 4) / (2 * r * r * std::pow(1 - rc * rc, 2))) /
                     (n - 2);
    check(fast.lower, std::tanh(std::atanh(rc) - 1.959963984540054 * std::sqrt(v)), 1e-8);
    check(fast.upper, std::tanh(std::atanh(rc) + 1.959963984540054 * std::sqrt(v)), 1e-8);
  }
  CHECK(limits > 150);
}

TEST_CASE("tests of marginal homogeneity come out the same by other routes", "[property]") {
  base::Random random(18);
  for (std::size_t i = 0; i < tables; ++i) {
    const std::size_t q = 2 + random.index(4);
    CrossTable table(q);
    const std::size_t n = random.index(25);
    for (std::size_t c = 0; c < n; ++c) table.add(random.index(q), random.chance(0.5) ? 0 : random.index(q));
    for (std::size_t c = 0; c < n; ++c) {
      const std::size_t same = random.index(q);
      table.add(same, same);
    }
    double df = 0;
    const double slow = stuart_maxwell_slowly(table, df);
    const HomogeneityTest fast = stuart_maxwell(table);
    check(fast.chi2, slow, 1e-9);
    check(fast.df, df == 0 ? none : df);
    if (q != 2) continue;
    const double b = static_cast<double>(table.at(0, 1)), c = static_cast<double>(table.at(1, 0));
    check(mcnemar(table).exact_p, exact_slowly(table.at(0, 1), table.at(1, 0)));
    check(mcnemar(table).chi2, ratio((b - c) * (b - c), b + c));
    check(bowker(table).chi2, ratio((b - c) * (b - c), b + c));
    check(fast.chi2, ratio((b - c) * (b - c), b + c));
  }
}

TEST_CASE("correlations come out the same pair by pair", "[property]") {
  base::Random random(19);
  const auto value_of = [](const Result<double>& r) { return r ? Value(*r) : Value("none"); };
  for (std::size_t i = 0; i < tables; ++i) {
    const auto [x, y] = random_pair(random);
    check(value_of(stats::pearson(x, y)), pearson_slowly(x, y));
    check(value_of(stats::spearman(x, y)),
          pearson_slowly(mapped(x, [&, &all = x](double v) { return rank_of(all, v); }),
                         mapped(y, [&, &all = y](double v) { return rank_of(all, v); })));
    double order = 0, untied_x = 0, untied_y = 0;
    const auto sign = [](double v) { return v > 0 ? 1.0 : v < 0 ? -1.0 : 0.0; };
    for (std::size_t a = 0; a < x.size(); ++a)
      for (std::size_t b = 0; b < a; ++b) {
        order += sign(x[a] - x[b]) * sign(y[a] - y[b]);
        untied_x += std::abs(sign(x[a] - x[b]));
        untied_y += std::abs(sign(y[a] - y[b]));
      }
    check(value_of(stats::kendall_tau_b(x, y)), ratio(order, std::sqrt(untied_x * untied_y)));
  }
}
