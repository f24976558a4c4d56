#include "stats/reml_design.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <unordered_map>

namespace evenhand::stats {
namespace {

std::vector<double> counts_of(const Factor& factor) {
  std::vector<double> counts(factor.levels);
  for (const auto level : factor.level) counts[level] += 1.0;
  return counts;
}

/// Sums over the filled cells of two factors: n_pq^2 and n_p n_pq n_q.
struct CellSums {
  double squares = 0.0, weighted = 0.0;
};

CellSums cell_sums(const Factor& a, const Factor& b, std::span<const double> n_a,
                   std::span<const double> n_b) {
  CellSums sums;
  const Factor cells = crossed(a, b);
  const std::vector<double> counts = counts_of(cells);
  std::vector<bool> seen(cells.levels);
  for (std::size_t i = 0; i < cells.level.size(); ++i) {
    const auto cell = cells.level[i];
    if (seen[cell]) continue;
    seen[cell] = true;
    const double n = counts[cell];
    sums.squares += n * n;
    sums.weighted += n_a[a.level[i]] * n * n_b[b.level[i]];
  }
  return sums;
}

double sum_of_squares(std::span<const double> x) { return dot(x, x); }

/// ||Z'y||^2
double quadratic_form(const Factor& factor, std::span<const double> y) {
  std::vector<double> totals(factor.levels);
  for (std::size_t i = 0; i < y.size(); ++i) totals[factor.level[i]] += y[i];
  return sum_of_squares(totals);
}

/// tr(C V_r C V_s) for the centering matrix C; the residual (V = I) comes first.
Dense gram(std::span<const Factor* const> terms, double n) {
  const std::size_t m = terms.size();
  std::vector<std::vector<double>> counts;
  std::vector<double> own;  // 1'V_r 1
  for (const Factor* term : terms) {
    counts.push_back(counts_of(*term));
    own.push_back(sum_of_squares(counts.back()));
  }
  Dense g(m + 1, m + 1);
  g(0, 0) = n - 1.0;
  for (std::size_t r = 0; r < m; ++r) {
    g(0, r + 1) = g(r + 1, 0) = n - own[r] / n;
    for (std::size_t s = r; s < m; ++s) {
      CellSums sums;
      if (r == s)
        for (const double c : counts[r]) {
          sums.squares += c * c;
          sums.weighted += c * c * c;
        }
      else
        sums = cell_sums(*terms[r], *terms[s], counts[r], counts[s]);
      g(r + 1, s + 1) = g(s + 1, r + 1) = sums.squares - 2.0 * sums.weighted / n + own[r] * own[s] / (n * n);
    }
  }
  return g;
}

/// Solves with g scaled to a unit diagonal; nothing when a pivot is rounding.
std::optional<std::vector<double>> solve(const Dense& g, std::span<const double> right) {
  const std::size_t m = g.rows();
  Dense unit(m, m);
  for (std::size_t r = 0; r < m; ++r) {
    if (g(r, r) <= 0.0) return std::nullopt;
    for (std::size_t s = 0; s < m; ++s) unit(r, s) = g(r, s) / std::sqrt(g(r, r) * g(s, s));
  }
  const auto inverse = inverse_of(unit);
  if (!inverse) return std::nullopt;
  std::vector<double> solution(m);
  for (std::size_t r = 0; r < m; ++r) {
    if (inverse->inverse(r, r) > 1e10) return std::nullopt;
    for (std::size_t s = 0; s < m; ++s)
      solution[r] += inverse->inverse(r, s) * right[s] / std::sqrt(g(r, r) * g(s, s));
  }
  return solution;
}

}  // namespace

Factor factor_of(std::span<const std::uint32_t> numbers) {
  Factor factor{std::vector<std::uint32_t>(numbers.size()), 0};
  const std::size_t most = numbers.empty() ? 0 : *std::max_element(numbers.begin(), numbers.end()) + 1;
  if (most > 8 * numbers.size() + 1024) {  // sparse numbers: a table of all would be waste
    std::unordered_map<std::uint32_t, std::uint32_t> place;
    for (std::size_t i = 0; i < numbers.size(); ++i)
      factor.level[i] = place.emplace(numbers[i], static_cast<std::uint32_t>(place.size())).first->second;
    factor.levels = place.size();
    return factor;
  }
  constexpr auto none = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> place(most, none);
  std::uint32_t levels = 0;
  for (const auto number : numbers) place[number] = 0;
  for (auto& p : place)
    if (p != none) p = levels++;
  for (std::size_t i = 0; i < numbers.size(); ++i) factor.level[i] = place[numbers[i]];
  factor.levels = levels;
  return factor;
}

Factor crossed(const Factor& a, const Factor& b) {
  std::vector<std::uint32_t> cell(a.level.size());
  if (a.levels * b.levels < std::numeric_limits<std::uint32_t>::max()) {
    for (std::size_t i = 0; i < cell.size(); ++i)
      cell[i] = static_cast<std::uint32_t>(a.level[i] * b.levels + b.level[i]);
    return factor_of(cell);
  }
  std::unordered_map<std::uint64_t, std::uint32_t> place;
  for (std::size_t i = 0; i < cell.size(); ++i) {
    const std::uint64_t key = std::uint64_t{a.level[i]} * b.levels + b.level[i];
    cell[i] = place.emplace(key, static_cast<std::uint32_t>(place.size())).first->second;
  }
  return {std::move(cell), place.size()};
}

std::optional<Standardized> standardized(std::span<const double> values) {
  Standardized result{std::vector<double>(values.begin(), values.end()), 0.0};
  double largest = 0.0;
  for (const double x : values) largest = std::max(largest, std::abs(x));
  const auto n = static_cast<double>(values.size());
  const double origin = values.front();
  for (double& x : result.values) x -= origin;
  const double mean = std::accumulate(result.values.begin(), result.values.end(), 0.0) / n;
  for (double& x : result.values) x -= mean;
  result.scale = std::sqrt(sum_of_squares(result.values) / n);
  // As in mean_squares.hpp: each value moved by 8 units in its last place.
  if (result.scale <= 8.0 * std::numeric_limits<double>::epsilon() * largest) return std::nullopt;
  for (double& x : result.values) x /= result.scale;
  return result;
}

std::optional<std::vector<double>> starting_ratios(std::span<const Factor* const> terms,
                                                   std::span<const double> values) {
  std::vector<double> right{sum_of_squares(values)};
  for (const Factor* term : terms) right.push_back(quadratic_form(*term, values));
  auto variance = solve(gram(terms, static_cast<double>(values.size())), right);
  if (!variance) return std::nullopt;
  double all = 0.0;
  for (double& v : *variance) all += v = std::max(v, 0.0);
  const double residual = std::max(variance->front(), 1e-3 * all);
  std::vector<double> ratios;
  for (std::size_t r = 0; r < terms.size(); ++r) ratios.push_back((*variance)[r + 1] / residual);
  return ratios;
}

std::size_t linked_groups(const Factor& row, const Factor& column) {
  std::vector<std::size_t> parent(row.levels + column.levels);
  std::iota(parent.begin(), parent.end(), std::size_t{0});
  const auto root = [&](std::size_t i) {
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
  };
  std::size_t groups = parent.size();
  for (std::size_t i = 0; i < row.level.size(); ++i) {
    const std::size_t a = root(row.level[i]), b = root(row.levels + column.level[i]);
    if (a == b) continue;
    parent[a] = b;
    --groups;
  }
  return groups;
}

RemlResult fitted(const RemlModel& model, std::vector<double> start, std::size_t values, double scale,
                  bool cheap) {
  const double df = static_cast<double>(values) - 1.0;
  const std::size_t m = start.size();
  RemlOptimum best = reml_optimum(model, std::move(start), df);
  const bool bound = std::find(best.ratios.begin(), best.ratios.end(), 0.0) != best.ratios.end();
  if (cheap && (bound || !best.converged)) {
    RemlOptimum other = reml_optimum(model, std::vector<double>(m, 1.0), df);
    if (other.converged && (!best.converged || other.deviance < best.deviance - 1e-9))
      best = std::move(other);
  }
  if (best.residual_vanishes) return tl::unexpected(RemlProblem::no_residual);
  RemlFit fit;
  const double unit = scale * scale, residual = unit * best.terms.squares / df;
  for (const double ratio : best.ratios) {
    fit.variance.push_back(ratio * residual);
    fit.at_bound.push_back(ratio == 0.0);
  }
  fit.variance.push_back(residual);
  fit.covariance = reml_covariance(best, df);
  for (std::size_t i = 0; i < fit.covariance.rows(); ++i)
    for (double& x : fit.covariance.row(i)) x *= unit * unit;
  fit.deviance = best.deviance + df * (1.0 + std::log(2.0 * std::numbers::pi * unit));
  fit.values = values;
  fit.iterations = best.iterations;
  fit.gradient_norm = best.gradient_norm;
  fit.converged = best.converged;
  return fit;
}

}  // namespace evenhand::stats
