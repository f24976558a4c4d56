#include "agreement/kappa.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "stats/distributions.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason no_case{"no case was scored by both"};
constexpr Reason one_category{
    "both gave every case the same score: there is nothing to agree on beyond chance"};
constexpr double root_of_rounding = 1e-7;
constexpr double rounding = 1e-15;

/// A cross table as shares of its cases, the categories that nobody used left out of rows and columns.
struct Shares {
  std::vector<std::size_t> rows, columns;  // cases by category
  std::vector<std::size_t> row_category, column_category;
  std::vector<double> row, column;   // margins
  std::vector<double> cell, chance;  // row by row; chance is what the margins alone give
};

/// The categories that occur, and their shares.
void keep_used(const std::vector<std::size_t>& counts, double n, std::vector<std::size_t>& category,
               std::vector<double>& share) {
  category.clear();
  share.clear();
  for (std::size_t i = 0; i < counts.size(); ++i)
    if (counts[i] > 0) {
      category.push_back(i);
      share.push_back(static_cast<double>(counts[i]) / n);
    }
}

/// Of another table, in the room there is.
void take_shares(const CrossTable& table, Shares& shares) {
  const std::size_t q = table.categories();
  shares.rows.assign(q, 0);
  shares.columns.assign(q, 0);
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      shares.rows[i] += table.at(i, j);
      shares.columns[j] += table.at(i, j);
    }
  const auto n = static_cast<double>(table.cases());
  keep_used(shares.rows, n, shares.row_category, shares.row);
  keep_used(shares.columns, n, shares.column_category, shares.column);
  const std::size_t rows = shares.row.size(), columns = shares.column.size();
  shares.cell.resize(rows * columns);
  shares.chance.resize(rows * columns);
  for (std::size_t a = 0, at = 0; a < rows; ++a)
    for (std::size_t b = 0; b < columns; ++b, ++at) {
      shares.cell[at] = static_cast<double>(table.at(shares.row_category[a], shares.column_category[b])) / n;
      shares.chance[at] = shares.row[a] * shares.column[b];
    }
}

/// What maximum_kappa says.
Value maximum_of(std::span<const std::size_t> row, std::span<const std::size_t> column, double n) {
  double most = 0.0, chance = 0.0;
  for (std::size_t i = 0; i < row.size(); ++i) {
    most += static_cast<double>(std::min(row[i], column[i])) / n;
    chance += static_cast<double>(row[i]) * static_cast<double>(column[i]) / (n * n);
  }
  if (1.0 - chance < rounding) return one_category;
  return (most - chance) / (1.0 - chance);
}

double weight_at(std::size_t i, std::size_t j, double span, Weights weights) {
  const double d = std::abs(static_cast<double>(i) - static_cast<double>(j)) / span;
  switch (weights) {
    case Weights::none:
      return i == j ? 1.0 : 0.0;
    case Weights::linear:
      return 1.0 - d;
    case Weights::quadratic:
      return 1.0 - d * d;
  }
  return 0.0;
}

bool is_identity(const AgreementWeights& weights) {
  for (std::size_t i = 0; i < weights.categories(); ++i)
    for (std::size_t j = 0; j < weights.categories(); ++j)
      if (i != j && weights(i, j) != 0.0) return false;
  return true;
}

double without_rounding(double se) { return se < root_of_rounding ? 0.0 : se; }

double estimate_of(double observed, double chance) {
  const double value = 1.0 - observed / chance;
  return std::abs(value) < 1e-12 ? 0.0 : value;
}

// The letters of Fleiss, Cohen & Everitt 1969: w weights, p shares, pi. and p.j margins, po and
// pe weighted agreement observed and by chance, wi. and w.j mean weights of a row and a column.
struct Sums {
  double disagreement_observed = 0.0;  // 1 - po, without cancellation
  double disagreement_chance = 0.0;    // 1 - pe
  double variance = 0.0;               // of kappa, times n
  double variance_null = 0.0;
};

/// Room that the weightings of one table share.
struct Scratch {
  std::vector<double> weight, mean_row, mean_column;
};

Sums sums_of(const Shares& shares, const AgreementWeights& w, Scratch& scratch) {
  const std::size_t rows = shares.row.size(), columns = shares.column.size();
  scratch.weight.resize(rows * columns);
  scratch.mean_row.resize(rows);
  scratch.mean_column.assign(columns, 0.0);
  Sums sums;
  for (std::size_t a = 0, at = 0; a < rows; ++a) {
    double mean = 0.0;
    for (std::size_t b = 0; b < columns; ++b, ++at) {
      const double weight = w(shares.row_category[a], shares.column_category[b]);
      scratch.weight[at] = weight;
      mean += weight * shares.column[b];
      scratch.mean_column[b] += weight * shares.row[a];
      sums.disagreement_observed += (1.0 - weight) * shares.cell[at];
      sums.disagreement_chance += (1.0 - weight) * shares.chance[at];
    }
    scratch.mean_row[a] = mean;
  }
  if (sums.disagreement_chance < rounding) return sums;

  // Both variances are those of one case's influence on kappa, under the observed shares and under
  // independence; taken around their means, which is the papers' formula without its difference of large
  // terms. The mean of w - r (wi. + w.j) is po - 2 r pe, and pe - 2 pe under independence.
  const double ratio = sums.disagreement_observed / sums.disagreement_chance;  // r = 1 - kappa
  const double pe = 1.0 - sums.disagreement_chance;
  const double mean = 1.0 - sums.disagreement_observed - 2.0 * ratio * pe;
  for (std::size_t a = 0, at = 0; a < rows; ++a)
    for (std::size_t b = 0; b < columns; ++b, ++at) {
      const double means = scratch.mean_row[a] + scratch.mean_column[b];
      const double d = scratch.weight[at] - ratio * means - mean;
      const double d_null = scratch.weight[at] - means + pe;
      sums.variance += shares.cell[at] * d * d;
      sums.variance_null += shares.chance[at] * d_null * d_null;
    }
  const double chance_squared = sums.disagreement_chance * sums.disagreement_chance;
  sums.variance /= chance_squared;
  sums.variance_null /= chance_squared;
  return sums;
}

/// Nothing when the table is two by two and has a case.
const Reason* not_two_by_two(const CrossTable& table) {
  static constexpr Reason other{"defined for two categories only; the margins tell"};
  if (table.categories() != 2) return &other;
  return table.cases() == 0 ? &no_case : nullptr;
}

double share_between(const CrossTable& table, std::size_t a, std::size_t b) {
  const double larger = static_cast<double>(std::max(a, b)), smaller = static_cast<double>(std::min(a, b));
  return (larger - smaller) / static_cast<double>(table.cases());
}

/// How many standard errors the limits lie off.
std::optional<double> normal_limit(double confidence) {
  const auto z = stats::normal_quantile(1.0 - (1.0 - confidence) / 2.0);
  return z ? std::optional(*z) : std::nullopt;
}

Kappa kappa_of(const CrossTable& table, const Shares& shares, const AgreementWeights& weights,
               std::optional<double> limit, Scratch& scratch) {
  const Sums sums = sums_of(shares, weights, scratch);
  if (sums.disagreement_chance < rounding) return Kappa::undefined(one_category);

  const auto n = static_cast<double>(table.cases());
  const double se = without_rounding(std::sqrt(sums.variance / n));
  const double se0 = without_rounding(std::sqrt(sums.variance_null / n));
  const double k = estimate_of(sums.disagreement_observed, sums.disagreement_chance);

  Kappa result = Kappa::undefined("the limits could not be computed");
  result.kappa.estimate = k;
  result.kappa.method = "Fleiss, Cohen & Everitt 1969";
  if (limit) {
    const double lower = k - *limit * se, upper = k + *limit * se;
    result.kappa.lower = lower;
    result.kappa.upper = upper;
    result.kappa.outside_range = lower < -1.0 || upper > 1.0;
  }
  result.se = se;
  result.se0 = se0;
  result.z = se0 > 0.0 ? Value(k / se0)
                       : Value("one gave every case the same score: the error under chance is zero");
  result.max = is_identity(weights) ? maximum_of(shares.rows, shares.columns, n)
                                    : Value("defined for unweighted kappa only");
  return result;
}

}  // namespace

void CrossTable::add_cases(std::span<const std::int32_t> first, std::span<const std::int32_t> second) {
  const std::size_t cells = counts_.size();
  const auto cell = [&](std::size_t i) {  // the one behind the last: not scored by both
    const std::size_t at =
        static_cast<std::size_t>(first[i]) * categories_ + static_cast<std::size_t>(second[i]);
    return (first[i] | second[i]) < 0 ? cells : at;
  };
  if (cells >= first.size()) {  // a large table: its counts are not worth having four times
    for (std::size_t i = 0; i < first.size(); ++i)
      if (const std::size_t at = cell(i); at < cells) {
        ++counts_[at];
        ++cases_;
      }
    return;
  }
  apart_.clear(cells + 1);
  apart_.add(first.size(), cell);
  for (std::size_t at = 0; at < cells; ++at) counts_[at] += apart_.at(at);
  cases_ += first.size() - apart_.at(cells);
}

AgreementWeights::AgreementWeights(std::size_t categories, std::vector<double> matrix)
    : categories_(categories), matrix_(std::move(matrix)) {}

AgreementWeights AgreementWeights::by_index(std::size_t categories, Weights weights) {
  const double span = categories > 1 ? static_cast<double>(categories - 1) : 1.0;
  std::vector<double> matrix;
  matrix.reserve(categories * categories);
  for (std::size_t i = 0; i < categories; ++i)
    for (std::size_t j = 0; j < categories; ++j) matrix.push_back(weight_at(i, j, span, weights));
  return {categories, std::move(matrix)};
}

Result<AgreementWeights> AgreementWeights::by_value(std::span<const double> values, Weights weights) {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  if (values.empty() || *low == *high)
    return fail(Errc::invalid, "weights by value need at least two categories with different values");
  std::vector<double> matrix;
  for (const double a : values)
    for (const double b : values) {
      const double d = std::abs(a - b) / (*high - *low);
      matrix.push_back(weights == Weights::none     ? (a == b ? 1.0 : 0.0)
                       : weights == Weights::linear ? 1.0 - d
                                                    : 1.0 - d * d);
    }
  return AgreementWeights(values.size(), std::move(matrix));
}

Result<AgreementWeights> AgreementWeights::from_matrix(std::vector<double> matrix) {
  const auto q = static_cast<std::size_t>(std::lround(std::sqrt(static_cast<double>(matrix.size()))));
  if (q == 0 || q * q != matrix.size())
    return fail(Errc::invalid, "{} weights do not fill a square of categories by categories", matrix.size());
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      const double w = matrix[i * q + j];
      if (!(w >= 0.0 && w <= 1.0))
        return fail(Errc::invalid, "weight in row {}, column {} is {}: weights lie between 0 and 1", i + 1,
                    j + 1, w);
      if (i == j && w != 1.0)
        return fail(Errc::invalid, "weight in row {}, column {} is {}: equal scores agree with weight 1",
                    i + 1, j + 1, w);
    }
  return AgreementWeights(q, std::move(matrix));
}

Kappa Kappa::undefined(Reason reason) {
  return {Estimate::undefined(reason), reason, reason, reason, reason};
}

Kappa kappa(const CrossTable& table, const AgreementWeights& weights, double confidence) {
  assert(table.categories() == weights.categories());
  if (table.cases() == 0) return Kappa::undefined(no_case);
  Shares shares;
  take_shares(table, shares);
  Scratch scratch;
  return kappa_of(table, shares, weights, normal_limit(confidence), scratch);
}

struct Kappas::Room {
  ByWeights<AgreementWeights> weights;
  std::optional<double> limit;
  Shares shares;
  Scratch scratch;
};

Kappas::Kappas(ByWeights<AgreementWeights> weights, double confidence)
    : room_(std::make_unique<Room>(Room{std::move(weights), normal_limit(confidence), {}, {}})) {}
Kappas::~Kappas() = default;

ByWeights<Kappa> Kappas::of(const CrossTable& table) {
  assert(table.categories() == room_->weights.none.categories());
  if (table.cases() == 0)
    return {Kappa::undefined(no_case), Kappa::undefined(no_case), Kappa::undefined(no_case)};
  take_shares(table, room_->shares);
  const auto by = [&](const AgreementWeights& weights) {
    return kappa_of(table, room_->shares, weights, room_->limit, room_->scratch);
  };
  return {by(room_->weights.none), by(room_->weights.linear), by(room_->weights.quadratic)};
}

Value kappa_estimate(const CrossTable& table, const AgreementWeights& weights) {
  assert(table.categories() == weights.categories());
  if (table.cases() == 0) return no_case;
  const std::size_t q = table.categories();
  const auto n = static_cast<double>(table.cases());
  std::vector<double> row(q), column(q);
  double observed = 0.0, chance = 0.0;
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      const double share = static_cast<double>(table.at(i, j)) / n;
      row[i] += share;
      column[j] += share;
      observed += (1.0 - weights(i, j)) * share;
    }
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) chance += (1.0 - weights(i, j)) * row[i] * column[j];
  if (chance < rounding) return one_category;
  return estimate_of(observed, chance);
}

Value maximum_kappa(const CrossTable& table) {
  if (table.cases() == 0) return no_case;
  const std::size_t q = table.categories();
  std::vector<std::size_t> row(q), column(q);
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      row[i] += table.at(i, j);
      column[j] += table.at(i, j);
    }
  return maximum_of(row, column, static_cast<double>(table.cases()));
}

Value prevalence_index(const CrossTable& table) {
  if (const Reason* why = not_two_by_two(table)) return *why;
  return share_between(table, table.at(0, 0), table.at(1, 1));
}

Value bias_index(const CrossTable& table) {
  if (const Reason* why = not_two_by_two(table)) return *why;
  return share_between(table, table.at(0, 1), table.at(1, 0));
}

}  // namespace evenhand::agreement
