#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <map>
#include <numeric>

#include "stats/reml.hpp"
#include "stats/reml_blocks.hpp"
#include "stats/reml_design.hpp"
#include "stats/three_way.hpp"

namespace evenhand::stats {
namespace {

// Terms inside: A, B, C, AB, AC, BC (see reml_blocks.hpp). The rest has F = E D with
// E = [1, Z_B, Z_C, I] on cells and D = diag(1, sqrt(b) .., sqrt(c) .., sqrt(bc) ..).
enum Term : std::size_t { in_a, in_b, in_c, in_ab, in_ac, in_bc };
constexpr std::size_t random_terms = 6;
constexpr double negligible = 1e-10;

struct Block {
  std::size_t pattern;
  std::vector<double> y;  // in the order of the pattern's cells
};

struct Layout {
  std::size_t n_b, n_c, cells, width;  // width: columns of E
  std::vector<Pattern> patterns;
  std::vector<double> repeats;  // blocks a pattern
  std::vector<Block> blocks;

  std::array<std::size_t, 4> columns(std::size_t cell) const {
    return {0, 1 + cell / n_c, 1 + n_b + cell % n_c, 1 + n_b + n_c + cell};
  }
};

Layout layout_of(const std::array<const Factor*, 3>& factor, std::span<const double> y) {
  Layout layout{factor[1]->levels, factor[2]->levels, 0, 0, {}, {}, {}};
  layout.cells = layout.n_b * layout.n_c;
  layout.width = 1 + layout.n_b + layout.n_c + layout.cells;
  std::vector<std::vector<std::pair<std::uint32_t, double>>> rows(factor[0]->levels);
  for (std::size_t i = 0; i < y.size(); ++i)
    rows[factor[0]->level[i]].emplace_back(factor[1]->level[i] * layout.n_c + factor[2]->level[i], y[i]);
  std::map<std::vector<std::uint32_t>, std::size_t> known;
  for (auto& row : rows) {
    std::sort(row.begin(), row.end());
    std::vector<std::uint32_t> cells;
    Block block;
    for (const auto& [cell, value] : row) {
      assert(cells.empty() || cells.back() != cell);
      cells.push_back(cell);
      block.y.push_back(value);
    }
    const auto [place, fresh] = known.emplace(std::move(cells), layout.patterns.size());
    if (fresh) {
      layout.patterns.push_back({place->first, layout.n_b, layout.n_c});
      layout.repeats.push_back(0.0);
    }
    block.pattern = place->second;
    layout.repeats[block.pattern] += 1.0;
    layout.blocks.push_back(std::move(block));
  }
  return layout;
}

/// The likelihood at one set of ratios.
class Evaluation {
 public:
  Evaluation(const Layout& layout, std::span<const double> ratios);
  std::optional<RemlTerms> terms();

 private:
  using Vectors = std::vector<std::vector<double>>;  // one for each block

  bool eliminate();
  std::vector<double> on_columns(std::span<const double> cells) const;  // D E'x
  std::vector<double> on_cells(std::span<const double> columns) const;  // E D x
  Vectors solved(const Vectors& v, std::vector<double>& sum) const;
  Dense shared() const;
  void add_traces(RemlTerms& t) const;
  void add_products(const Vectors& p, RemlTerms& t) const;
  Vectors working(std::size_t term, const Vectors& p, std::span<const double> p_sum) const;
  double rest_trace(std::size_t term, std::size_t first, std::size_t count) const;

  const Layout& layout_;
  std::span<const double> ratios_;
  std::vector<BlockInverse> inverses_;
  std::vector<double> d_;
  Dense q_;  // E'(sum of V_j^-1)E
  Dense m_;  // (F'V^-1F + [0, I])^-1
  double log_determinant_ = 0.0;
};

Evaluation::Evaluation(const Layout& layout, std::span<const double> ratios)
    : layout_(layout), ratios_(ratios), d_(layout.width) {
  for (std::size_t i = 0; i < layout.width; ++i) {
    const std::size_t after = i - 1;
    d_[i] = i == 0                            ? 1.0
            : after < layout.n_b              ? std::sqrt(ratios[in_b])
            : after < layout.n_b + layout.n_c ? std::sqrt(ratios[in_c])
                                              : std::sqrt(ratios[in_bc]);
  }
}

bool Evaluation::eliminate() {
  const std::size_t cells = layout_.cells, width = layout_.width;
  Dense sum(cells, cells);
  inverses_.reserve(layout_.patterns.size());
  for (std::size_t k = 0; k < layout_.patterns.size(); ++k) {
    inverses_.emplace_back(layout_.patterns[k], BlockRatios{ratios_[in_a], ratios_[in_ab], ratios_[in_ac]});
    if (!inverses_.back().defined()) return false;
    log_determinant_ += layout_.repeats[k] * inverses_.back().log_determinant();
    inverses_.back().add_to(sum, layout_.repeats[k]);
  }
  q_ = Dense(width, width);
  std::vector<double> line(width);
  for (std::size_t x = 0; x < cells; ++x) {
    std::fill(line.begin(), line.end(), 0.0);
    for (std::size_t z = 0; z < cells; ++z) {
      const double value = x <= z ? sum(x, z) : sum(z, x);
      for (const std::size_t column : layout_.columns(z)) line[column] += value;
    }
    for (const std::size_t column : layout_.columns(x)) add_scaled(q_.row(column), 1.0, line);
  }
  Dense c = q_;
  for (std::size_t i = 0; i < width; ++i) {
    for (std::size_t j = 0; j < width; ++j) c(i, j) *= d_[i] * d_[j];
    if (i > 0) c(i, i) += 1.0;
  }
  auto inverse = inverse_of(std::move(c));
  if (!inverse) return false;
  log_determinant_ += inverse->log_determinant;
  m_ = std::move(inverse->inverse);
  return true;
}

std::vector<double> Evaluation::on_columns(std::span<const double> cells) const {
  std::vector<double> result(layout_.width);
  for (std::size_t x = 0; x < cells.size(); ++x)
    for (const std::size_t column : layout_.columns(x)) result[column] += cells[x] * d_[column];
  return result;
}

std::vector<double> Evaluation::on_cells(std::span<const double> columns) const {
  std::vector<double> result(layout_.cells);
  for (std::size_t x = 0; x < result.size(); ++x)
    for (const std::size_t column : layout_.columns(x)) result[x] += columns[column] * d_[column];
  return result;
}

/// V_j^-1 v_j for every block, and their sum over blocks by cell.
Evaluation::Vectors Evaluation::solved(const Vectors& v, std::vector<double>& sum) const {
  Vectors result(v.size());
  sum.assign(layout_.cells, 0.0);
  for (std::size_t j = 0; j < v.size(); ++j) {
    const std::size_t pattern = layout_.blocks[j].pattern;
    result[j] = inverses_[pattern].solve(v[j]);
    const auto& cells = layout_.patterns[pattern].cells;
    for (std::size_t i = 0; i < cells.size(); ++i) sum[cells[i]] += result[j][i];
  }
  return result;
}

/// E D M D E' over all cells.
Dense Evaluation::shared() const {
  Dense result(layout_.cells, layout_.cells);
  std::vector<double> line(layout_.width);
  for (std::size_t x = 0; x < layout_.cells; ++x) {
    std::fill(line.begin(), line.end(), 0.0);
    for (const std::size_t column : layout_.columns(x)) add_scaled(line, d_[column], m_.row(column));
    const std::vector<double> row = on_cells(line);
    std::copy(row.begin(), row.end(), result.row(x).begin());
  }
  return result;
}

/// tr(Z'P Z) of a term of the rest, by M where its ratio is not next to nothing.
double Evaluation::rest_trace(std::size_t term, std::size_t first, std::size_t count) const {
  const std::size_t width = layout_.width;
  double trace = 0.0;
  std::vector<double> line(width);
  for (std::size_t l = first; l < first + count; ++l) {
    if (ratios_[term] > negligible) {
      for (std::size_t k = 0; k < width; ++k) line[k] = m_(l, k) * d_[k] / d_[l];
      trace += dot(line, q_.row(l));
      continue;
    }
    for (std::size_t k = 0; k < width; ++k) line[k] = q_(l, k) * d_[k];
    trace += q_(l, l) - dot(line, times(m_, line));
  }
  return trace;
}

void Evaluation::add_traces(RemlTerms& t) const {
  const Dense all = shared();
  for (std::size_t k = 0; k < inverses_.size(); ++k) {
    const auto own = inverses_[k].traces(all);
    t.trace[in_a] += layout_.repeats[k] * own[0];
    t.trace[in_ab] += layout_.repeats[k] * own[1];
    t.trace[in_ac] += layout_.repeats[k] * own[2];
  }
  t.trace[in_b] = rest_trace(in_b, 1, layout_.n_b);
  t.trace[in_c] = rest_trace(in_c, 1 + layout_.n_b, layout_.n_c);
  t.trace[in_bc] = rest_trace(in_bc, 1 + layout_.n_b + layout_.n_c, layout_.cells);
}

/// V_r P y, block by block.
Evaluation::Vectors Evaluation::working(std::size_t term, const Vectors& p,
                                        std::span<const double> p_sum) const {
  const std::size_t n_b = layout_.n_b, n_c = layout_.n_c;
  const auto level = [&](std::size_t cell) -> std::size_t {
    if (term == in_a) return 0;
    if (term == in_bc) return cell;
    return term == in_b || term == in_ab ? cell / n_c : cell % n_c;
  };
  const bool across = term == in_b || term == in_c || term == in_bc;
  std::vector<double> total(std::max({layout_.cells, n_b, n_c}));
  if (across)
    for (std::size_t x = 0; x < layout_.cells; ++x) total[level(x)] += p_sum[x];
  Vectors result(p.size());
  for (std::size_t j = 0; j < p.size(); ++j) {
    const auto& cells = layout_.patterns[layout_.blocks[j].pattern].cells;
    if (!across) {
      std::fill(total.begin(), total.end(), 0.0);
      for (std::size_t i = 0; i < cells.size(); ++i) total[level(cells[i])] += p[j][i];
    }
    result[j].reserve(cells.size());
    for (const auto cell : cells) result[j].push_back(total[level(cell)]);
  }
  return result;
}

void Evaluation::add_products(const Vectors& p, RemlTerms& t) const {
  std::vector<double> p_sum(layout_.cells);
  for (std::size_t j = 0; j < p.size(); ++j) {
    const auto& cells = layout_.patterns[layout_.blocks[j].pattern].cells;
    for (std::size_t i = 0; i < cells.size(); ++i) p_sum[cells[i]] += p[j][i];
  }
  std::array<Vectors, random_terms> w, solved_w;
  std::array<std::vector<double>, random_terms> columns;
  for (std::size_t r = 0; r < random_terms; ++r) {
    w[r] = working(r, p, p_sum);
    std::vector<double> sum;
    solved_w[r] = solved(w[r], sum);
    columns[r] = on_columns(sum);
    for (std::size_t j = 0; j < p.size(); ++j) t.quadratic[r] += dot(p[j], w[r][j]);
  }
  for (std::size_t r = 0; r < random_terms; ++r) {
    const std::vector<double> eliminated = times(m_, columns[r]);
    for (std::size_t s = 0; s <= r; ++s) {
      double sum = -dot(eliminated, columns[s]);
      for (std::size_t j = 0; j < p.size(); ++j) sum += dot(w[s][j], solved_w[r][j]);
      t.cross(r, s) = t.cross(s, r) = sum;
    }
  }
}

std::optional<RemlTerms> Evaluation::terms() {
  if (!eliminate()) return std::nullopt;
  Vectors y;
  for (const Block& block : layout_.blocks) y.push_back(block.y);
  std::vector<double> sum;
  solved(y, sum);
  const std::vector<double> effect = times(m_, on_columns(sum));
  RemlTerms t{log_determinant_,
              0.0,
              std::vector<double>(random_terms),
              std::vector<double>(random_terms),
              Dense(random_terms, random_terms),
              {}};
  const std::vector<double> fit = on_cells(effect);
  Vectors rest = std::move(y);
  for (std::size_t j = 0; j < rest.size(); ++j) {
    const auto& cells = layout_.patterns[layout_.blocks[j].pattern].cells;
    for (std::size_t i = 0; i < cells.size(); ++i) rest[j][i] -= fit[cells[i]];
  }
  const Vectors p = solved(rest, sum);
  // Squares about the fit and of the effects: errors of the fit count squared.
  for (std::size_t j = 0; j < rest.size(); ++j) t.squares += dot(rest[j], p[j]);
  for (std::size_t i = 1; i < effect.size(); ++i) t.squares += effect[i] * effect[i];
  add_traces(t);
  add_products(p, t);
  return t;
}

std::optional<RemlFit> closed_form(std::span<const double> values, const std::array<const Factor*, 3>& f) {
  const std::array levels{f[0]->levels, f[1]->levels, f[2]->levels};
  if (values.size() != levels[0] * levels[1] * levels[2]) return std::nullopt;
  std::vector<double> in_place(values.size());
  for (std::size_t i = 0; i < values.size(); ++i)
    in_place[(f[0]->level[i] * levels[1] + f[1]->level[i]) * levels[2] + f[2]->level[i]] = values[i];
  const auto squares = three_way_mean_squares(in_place, levels);
  if (!squares) return std::nullopt;
  const auto variance = three_way_components(*squares);
  if (*std::min_element(variance.begin(), variance.end()) < 0.0) return std::nullopt;
  Dense spread(three_way_terms, three_way_terms);
  for (std::size_t t = 0; t < three_way_terms; ++t)
    spread(t, t) = 2.0 * squares->square[t] * squares->square[t] / squares->df[t];
  const Dense share = three_way_expectations(levels);
  RemlFit fit{.variance = {variance.begin(), variance.end()},
              .at_bound = {},
              .covariance = product_transposed(product(share, spread), share),
              .deviance = {}};
  for (std::size_t t = 0; t + 1 < three_way_terms; ++t) fit.at_bound.push_back(variance[t] == 0.0);
  fit.values = values.size();
  fit.closed_form = true;
  return fit;
}

/// Terms of the fit as they were asked for; order[k] is the asked factor that serves as A, B, C.
RemlFit in_order(const RemlFit& fit, const std::array<std::size_t, 3>& order) {
  const auto pair = [](std::size_t a, std::size_t b) { return a + b + 2; };  // 01, 02, 12 -> 3, 4, 5
  const std::array<std::size_t, 7> to{order[0],
                                      order[1],
                                      order[2],
                                      pair(order[0], order[1]),
                                      pair(order[0], order[2]),
                                      pair(order[1], order[2]),
                                      6};
  RemlFit result = fit;
  for (std::size_t r = 0; r < 7; ++r) {
    result.variance[to[r]] = fit.variance[r];
    if (r < 6) result.at_bound[to[r]] = fit.at_bound[r];
    for (std::size_t s = 0; s < 7 && !fit.covariance.empty(); ++s)
      result.covariance(to[r], to[s]) = fit.covariance(r, s);
  }
  return result;
}

}  // namespace

RemlResult reml_three_way(std::span<const double> values, std::span<const std::uint32_t> first,
                          std::span<const std::uint32_t> second, std::span<const std::uint32_t> third) {
  assert(values.size() == first.size() && values.size() == second.size() && values.size() == third.size());
  const std::array asked{factor_of(first), factor_of(second), factor_of(third)};
  for (const Factor& factor : asked)
    if (factor.levels < 2) return tl::unexpected(RemlProblem::too_few_levels);
  const auto y = standardized(values);
  if (!y) return tl::unexpected(RemlProblem::no_variation);
  const std::size_t groups = linked_groups(asked[0], asked[1]);
  if (auto fit = closed_form(values, {&asked[0], &asked[1], &asked[2]})) return *std::move(fit);

  std::array<std::size_t, 3> order{0, 1, 2};
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return asked[a].levels > asked[b].levels; });
  const Factor &a = asked[order[0]], &b = asked[order[1]], &c = asked[order[2]];
  const Factor ab = crossed(a, b), ac = crossed(a, c), bc = crossed(b, c);
  const Factor* terms[] = {&a, &b, &c, &ab, &ac, &bc};
  auto start = starting_ratios(terms, y->values);
  if (!start) return tl::unexpected(RemlProblem::confounded);
  const Layout layout = layout_of({&a, &b, &c}, y->values);
  const auto fit = fitted([&](std::span<const double> ratios) { return Evaluation(layout, ratios).terms(); },
                          *std::move(start), values.size(), y->scale, false);
  if (!fit) return fit;
  RemlFit result = in_order(*fit, order);
  result.linked_groups = groups;
  return result;
}

}  // namespace evenhand::stats
