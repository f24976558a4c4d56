#include "agreement/marginal_homogeneity.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>
#include <vector>

#include "stats/distributions.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason no_case{"no case was scored by both"};
constexpr Reason no_discordant{"both gave every case the same score: there is no difference to test"};

Value upper_tail(double chi2, double df) {
  const auto p = stats::chi_square_upper_tail(chi2, df);
  return p ? Value(*p) : Value("the p value could not be computed");
}

double count(const CrossTable& table, std::size_t i, std::size_t j) {
  return static_cast<double>(table.at(i, j));
}

double discordant(const CrossTable& table, std::size_t i, std::size_t j) {
  return i == j ? 0.0 : count(table, i, j) + count(table, j, i);
}

/// For each category the group it is in, by discordant cases between them; a category without one is
/// a group of its own.
std::vector<std::size_t> groups_of(const CrossTable& table) {
  std::vector<std::size_t> group(table.categories());
  std::iota(group.begin(), group.end(), std::size_t{0});
  for (std::size_t i = 0; i < group.size(); ++i)
    for (std::size_t j = i + 1; j < group.size(); ++j)
      if (discordant(table, i, j) > 0.0 && group[i] != group[j]) {
        const auto [low, high] = std::minmax({group[i], group[j]});  // copies: the list changes below
        std::replace(group.begin(), group.end(), high, low);
      }
  return group;
}

/// d' S^-1 d by Cholesky's factorization; S symmetric and positive definite, row-major.
double quadratic_form(std::vector<double> s, std::vector<double> d) {
  const std::size_t n = d.size();
  double sum = 0.0;
  for (std::size_t k = 0; k < n; ++k) {
    const double pivot = s[k * n + k];
    sum += d[k] * d[k] / pivot;
    for (std::size_t i = k + 1; i < n; ++i) {
      const double factor = s[i * n + k] / pivot;
      if (factor == 0.0) continue;
      d[i] -= factor * d[k];
      for (std::size_t j = k + 1; j < n; ++j) s[i * n + j] -= factor * s[k * n + j];
    }
  }
  return sum;
}

}  // namespace

HomogeneityTest stuart_maxwell(const CrossTable& table) {
  if (table.cases() == 0) return HomogeneityTest::undefined(no_case);
  // The margins' differences of a group add up to 0: the first category of each group is left out.
  const auto group = groups_of(table);
  std::vector<std::size_t> kept;
  for (std::size_t i = 0; i < group.size(); ++i)
    if (group[i] != i) kept.push_back(i);
  if (kept.empty()) return HomogeneityTest::undefined(no_discordant);

  std::vector<double> s(kept.size() * kept.size()), d(kept.size());
  for (std::size_t a = 0; a < kept.size(); ++a) {
    for (std::size_t j = 0; j < group.size(); ++j) {
      d[a] += count(table, kept[a], j) - count(table, j, kept[a]);
      s[a * kept.size() + a] += discordant(table, kept[a], j);
    }
    for (std::size_t b = 0; b < kept.size(); ++b)
      if (a != b) s[a * kept.size() + b] = -discordant(table, kept[a], kept[b]);
  }
  const auto df = static_cast<double>(kept.size());
  const double chi2 = quadratic_form(std::move(s), std::move(d));
  return {chi2, df, upper_tail(chi2, df)};
}

SymmetryTest bowker(const CrossTable& table) {
  if (table.cases() == 0) return SymmetryTest::undefined(no_case);
  double chi2 = 0.0, df = 0.0;
  for (std::size_t i = 0; i < table.categories(); ++i)
    for (std::size_t j = i + 1; j < table.categories(); ++j) {
      const double both = discordant(table, i, j);
      if (both == 0.0) continue;
      const double difference = count(table, i, j) - count(table, j, i);
      chi2 += difference * difference / both;
      df += 1.0;
    }
  if (df == 0.0) return SymmetryTest::undefined(no_discordant);
  const auto q = static_cast<double>(table.categories());
  const double df_all = q * (q - 1.0) / 2.0;
  return {chi2, df, upper_tail(chi2, df), df_all, upper_tail(chi2, df_all)};
}

McNemar mcnemar(const CrossTable& table) {
  if (table.categories() != 2) return McNemar::undefined("defined for two categories only");
  if (table.cases() == 0) return McNemar::undefined(no_case);
  const double b = count(table, 0, 1), c = count(table, 1, 0), n = b + c;
  if (n == 0.0) return McNemar::undefined(no_discordant);
  const double difference = std::abs(b - c), corrected = std::max(0.0, difference - 1.0);
  McNemar result = McNemar::undefined("the p value could not be computed");
  result.chi2 = difference * difference / n;
  result.p = upper_tail(*result.chi2, 1.0);
  result.chi2_corrected = corrected * corrected / n;
  result.p_corrected = upper_tail(*result.chi2_corrected, 1.0);
  // P(X <= k), X binomial (n, 1/2), is the tail of F with 2 (k + 1) and 2 (n - k) degrees of freedom
  // above (n - k) / (k + 1).
  const double k = std::min(b, c);
  if (const auto tail = stats::f_upper_tail((n - k) / (k + 1.0), 2.0 * (k + 1.0), 2.0 * (n - k)))
    result.exact_p = std::min(1.0, 2.0 * *tail);
  return result;
}

}  // namespace evenhand::agreement
