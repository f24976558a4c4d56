#include <algorithm>
#include <cassert>
#include <cmath>

#include "stats/reml.hpp"
#include "stats/reml_design.hpp"
#include "stats/reml_level_sums.hpp"

namespace evenhand::stats {
namespace {

// Letters: see reml_level_sums.hpp.

Dense top_left(const Dense& a, std::size_t n) {
  Dense part(n, n);
  for (std::size_t i = 0; i < n; ++i) std::copy_n(a.row(i).begin(), n, part.row(i).begin());
  return part;
}

/// F = [1, sqrt(b) Z_B] eliminated after A: M = (F'V_A^-1 F + [0, I])^-1.
struct Eliminated {
  Dense q;                  // K'V_A^-1 K, K unscaled
  Dense m;                  // M
  Dense m_unscaled;         // D M D, D = diag(1, sqrt(b) ...)
  Dense w;                  // Z_B'P x = W [1, Z_B]'V_A^-1 x; a row a level of B
  std::vector<double> fit;  // D M F'V_A^-1 y
  double log_determinant = 0.0;
};

bool is_small(const Eliminated& e, double b) { return b * e.q(0, 0) < 1e-3; }

/// W by subtraction while b is small, by M alone where subtraction would cancel.
Dense reduction_to_b(const Eliminated& e, double b) {
  const std::size_t n = e.m.rows();
  Dense w(n - 1, n);
  if (!is_small(e, b)) {
    for (std::size_t i = 1; i < n; ++i)
      for (std::size_t j = 0; j < n; ++j) w(i - 1, j) = e.m_unscaled(i, j) / b;
    return w;
  }
  for (std::size_t i = 1; i < n; ++i) {
    for (std::size_t k = 0; k < n; ++k) add_scaled(w.row(i - 1), -e.q(i, k), e.m_unscaled.row(k));
    w(i - 1, i) += 1.0;
  }
  return w;
}

std::optional<Eliminated> eliminate(const LevelSums& sums, double a, double b) {
  const std::size_t n = sums.size() - 1, y = n;
  Eliminated e;
  e.q = sums.weighted([a](double count) { return 1.0 / (count * (1.0 + a * count)); });
  for (std::size_t i = 0; i < sums.size(); ++i) add_scaled(e.q.row(i), 1.0, sums.within().row(i));
  const double root = std::sqrt(b);
  const auto scale = [root](std::size_t i) { return i == 0 ? 1.0 : root; };
  Dense c(n, n);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) c(i, j) = e.q(i, j) * scale(i) * scale(j) + (i == j && i > 0);
  auto inverse = inverse_of(c);
  if (!inverse) return std::nullopt;
  e.log_determinant = inverse->log_determinant;
  for (const double count : sums.counts()) e.log_determinant += std::log1p(a * count);
  e.m = std::move(inverse->inverse);
  e.m_unscaled = e.m;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) e.m_unscaled(i, j) *= scale(i) * scale(j);
  std::vector<double> right(n);
  for (std::size_t i = 0; i < n; ++i) right[i] = e.q(y, i) * scale(i);
  e.fit = times(e.m, right);
  add_scaled(right, -1.0, times(c, e.fit));  // one step of refinement: ratios can be huge
  add_scaled(e.fit, 1.0, times(e.m, right));
  for (std::size_t i = 0; i < n; ++i) e.fit[i] *= scale(i);
  if (n > 1) e.w = reduction_to_b(e, b);
  return e;
}

/// Everything about B: T_bb = Z_B'P Z_B = W [1, Z_B]'V_A^-1 Z_B.
void add_b_terms(const Eliminated& e, double b, RemlTerms& t, std::vector<double>& u_b) {
  const std::size_t n = e.m.rows(), levels = n - 1;
  Dense right(n, levels);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < levels; ++j) right(i, j) = e.q(i, j + 1);
  const Dense t_bb = product(e.w, right);
  u_b.assign(e.fit.begin() + 1, e.fit.end());
  if (is_small(e, b))
    u_b = times(e.w, e.q.row(n).first(n));
  else
    for (double& u : u_b) u /= b;
  t.quadratic[1] = dot(u_b, u_b);
  for (std::size_t i = 0; i < levels; ++i) t.trace[1] += t_bb(i, i);
  t.cross(1, 1) = dot(u_b, times(t_bb, u_b));
  t.traces(1, 1) = inner_product(t_bb, t_bb);
}

// For A: u_i = (Z_A'P y)_i = e_i c'k_i and Z_A'P Z_A = diag(n_i e_i) - [e_i k_i' (D M D) k_j e_j].
std::optional<RemlTerms> terms_at(const LevelSums& sums, double a, double b) {
  const auto e = eliminate(sums, a, b);
  if (!e) return std::nullopt;
  const std::size_t n = sums.size() - 1, terms = n > 1 ? 2 : 1;
  const Dense second = sums.weighted([a](double k) { return 1.0 / ((1.0 + a * k) * (1.0 + a * k)); });
  const Dense third =
      sums.weighted([a](double k) { return k / ((1.0 + a * k) * (1.0 + a * k) * (1.0 + a * k)); });
  std::vector<double> c(sums.size(), 1.0);
  for (std::size_t i = 0; i < n; ++i) c[i] = -e->fit[i];
  // Squares about the fit and of the effects: errors of the fit count squared.
  double squares = dot(c, times(e->q, c));
  for (std::size_t i = 1; i < n && b > 0.0; ++i) squares += e->fit[i] * e->fit[i] / b;
  RemlTerms t{e->log_determinant,         squares,
              std::vector<double>(terms), std::vector<double>(terms),
              Dense(terms, terms),        Dense(terms, terms)};
  std::vector<double> z = times(second, c);
  t.quadratic[0] = dot(c, z);
  z.resize(n);
  t.cross(0, 0) = dot(c, times(third, c)) - dot(z, times(e->m_unscaled, z));
  const Dense second_f = top_left(second, n);
  const Dense mixed = product(e->m_unscaled, second_f);
  for (const double count : sums.counts()) {
    const double share = count / (1.0 + a * count);
    t.trace[0] += share;
    t.traces(0, 0) += share * share;
  }
  for (std::size_t i = 0; i < n; ++i) {
    t.trace[0] -= mixed(i, i);
    for (std::size_t j = 0; j < n; ++j)
      t.traces(0, 0) += mixed(i, j) * mixed(j, i) - 2.0 * e->m_unscaled(i, j) * third(i, j);
  }
  if (terms == 1) return t;
  std::vector<double> u_b;
  add_b_terms(*e, b, t, u_b);
  std::vector<double> back(n);  // W'u_b
  for (std::size_t i = 0; i + 1 < n; ++i) add_scaled(back, u_b[i], e->w.row(i));
  t.cross(0, 1) = t.cross(1, 0) = dot(z, back);
  t.traces(0, 1) = t.traces(1, 0) = inner_product(product(e->w, second_f), e->w);
  return t;
}

/// When rows and columns explain every value, the levels are known up to their origin and their
/// variances are those of a sample. Nothing when they do not, or when groups are not linked.
std::optional<RemlFit> additive(const Factor& row, const Factor& column, const Standardized& y,
                                double rounding) {
  std::vector<std::vector<std::size_t>> of_row(row.levels), of_column(column.levels);
  for (std::size_t i = 0; i < y.values.size(); ++i) {
    of_row[row.level[i]].push_back(i);
    of_column[column.level[i]].push_back(i);
  }
  std::vector<std::optional<double>> effect(row.levels + column.levels);
  std::vector<std::size_t> waiting{0};
  effect[0] = 0.0;
  while (!waiting.empty()) {
    const std::size_t at = waiting.back();
    waiting.pop_back();
    const bool is_row = at < row.levels;
    for (const std::size_t i : is_row ? of_row[at] : of_column[at - row.levels]) {
      const std::size_t other = is_row ? row.levels + column.level[i] : row.level[i];
      const double value = y.values[i] - *effect[at];
      if (effect[other] && std::abs(*effect[other] - value) > rounding) return std::nullopt;
      if (effect[other]) continue;
      effect[other] = value;
      waiting.push_back(other);
    }
  }
  RemlFit fit{.variance = {}, .at_bound = {}, .covariance = Dense(3, 3), .deviance = {}};
  const auto add = [&](std::size_t first, std::size_t levels) {
    double mean = 0.0, squares = 0.0;
    const auto n = static_cast<double>(levels);
    for (std::size_t i = 0; i < levels; ++i) mean += *effect[first + i] / n;
    for (std::size_t i = 0; i < levels; ++i) squares += std::pow(*effect[first + i] - mean, 2);
    if (squares <= n * rounding * rounding) squares = 0.0;
    const double variance = y.scale * y.scale * squares / (n - 1.0);
    const std::size_t place = fit.variance.size();
    fit.covariance(place, place) = 2.0 * variance * variance / (n - 1.0);
    fit.variance.push_back(variance);
    fit.at_bound.push_back(variance == 0.0);
  };
  add(0, row.levels);
  add(row.levels, column.levels);
  fit.variance.push_back(0.0);
  fit.values = y.values.size();
  fit.closed_form = true;
  return fit;
}

double largest_of(std::span<const double> values) {
  double largest = 0.0;
  for (const double x : values) largest = std::max(largest, std::abs(x));
  return largest;
}

/// The fit with A and B in the order asked for.
RemlResult in_order(RemlResult fit, bool swapped) {
  if (!fit || !swapped) return fit;
  std::swap(fit->variance[0], fit->variance[1]);
  const bool first = fit->at_bound[0];
  fit->at_bound[0] = fit->at_bound[1];
  fit->at_bound[1] = first;
  Dense& c = fit->covariance;
  if (c.empty()) return fit;
  for (std::size_t i = 0; i < 3; ++i) std::swap(c(0, i), c(1, i));
  for (std::size_t i = 0; i < 3; ++i) std::swap(c(i, 0), c(i, 1));
  return fit;
}

}  // namespace

RemlResult reml_one_way(std::span<const double> values, std::span<const std::uint32_t> group) {
  assert(values.size() == group.size());
  const Factor a = factor_of(group);
  if (a.levels < 2) return tl::unexpected(RemlProblem::too_few_levels);
  if (values.size() == a.levels) return tl::unexpected(RemlProblem::no_residual_df);
  const auto y = standardized(values);
  if (!y) return tl::unexpected(RemlProblem::no_variation);
  const Factor* terms[] = {&a};
  auto start = starting_ratios(terms, y->values);
  if (!start) return tl::unexpected(RemlProblem::confounded);
  const LevelSums sums(a, nullptr, y->values);
  return fitted([&](std::span<const double> ratios) { return terms_at(sums, ratios[0], 0.0); },
                *std::move(start), values.size(), y->scale, true);
}

RemlResult reml_two_way(std::span<const double> values, std::span<const std::uint32_t> row,
                        std::span<const std::uint32_t> column) {
  assert(values.size() == row.size() && values.size() == column.size());
  const Factor r = factor_of(row), c = factor_of(column);
  if (r.levels < 2 || c.levels < 2) return tl::unexpected(RemlProblem::too_few_levels);
  const std::size_t groups = linked_groups(r, c);
  if (values.size() + groups <= r.levels + c.levels) return tl::unexpected(RemlProblem::no_residual_df);
  const auto y = standardized(values);
  if (!y) return tl::unexpected(RemlProblem::no_variation);
  const bool swapped = r.levels < c.levels;
  const Factor &a = swapped ? c : r, &b = swapped ? r : c;
  const Factor* terms[] = {&a, &b};
  auto start = starting_ratios(terms, y->values);
  if (!start) return tl::unexpected(RemlProblem::confounded);
  const double rounding = 1e-13 * (largest_of(y->values) + 1e-2 * largest_of(values) / y->scale);
  if (groups == 1)
    if (auto fit = additive(r, c, *y, rounding)) return *std::move(fit);
  const LevelSums sums(a, &b, y->values);
  auto fit =
      in_order(fitted([&](std::span<const double> ratios) { return terms_at(sums, ratios[0], ratios[1]); },
                      *std::move(start), values.size(), y->scale, true),
               swapped);
  if (fit) fit->linked_groups = groups;
  return fit;
}

}  // namespace evenhand::stats
