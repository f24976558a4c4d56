#include "stats/mean_squares.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

namespace evenhand::stats {
namespace {

/// The largest sum of squares that rounding of the values themselves can make.
double rounding_floor(std::span<const double> values) {
  double largest = 0.0;
  for (const double x : values) largest = std::max(largest, std::abs(x));
  const double moved = 8.0 * std::numeric_limits<double>::epsilon() * largest;
  return static_cast<double>(values.size()) * moved * moved;
}

double above(double floor, double squares) { return squares <= floor ? 0.0 : squares; }

/// Values minus their mean, computed on distances from the first value.
std::vector<double> centered(std::span<const double> values) {
  std::vector<double> result(values.begin(), values.end());
  const double origin = values.front();
  double sum = 0.0;
  for (double& x : result) sum += (x -= origin);
  const double mean = sum / static_cast<double>(values.size());
  for (double& x : result) x -= mean;
  return result;
}

}  // namespace

Result<TwoWayMeanSquares> two_way_mean_squares(std::span<const double> values, std::size_t rows,
                                               std::size_t columns) {
  if (values.size() != rows * columns)
    return fail(Errc::invalid, "{} values do not fill {} rows of {} columns", values.size(), rows, columns);
  if (rows < 2 || columns < 2)
    return fail(Errc::undefined, "{} rows and {} columns: two of each are needed", rows, columns);

  const std::vector<double> x = centered(values);
  const auto n = static_cast<double>(rows), k = static_cast<double>(columns);
  std::vector<double> row_mean(rows), column_mean(columns);
  for (std::size_t i = 0; i < rows; ++i)
    for (std::size_t j = 0; j < columns; ++j) {
      row_mean[i] += x[i * columns + j] / k;
      column_mean[j] += x[i * columns + j] / n;
    }
  double row = 0.0, column = 0.0, residual = 0.0;
  for (const double m : row_mean) row += k * m * m;
  for (const double m : column_mean) column += n * m * m;
  for (std::size_t i = 0; i < rows; ++i)
    for (std::size_t j = 0; j < columns; ++j) {
      const double r = x[i * columns + j] - row_mean[i] - column_mean[j];
      residual += r * r;
    }
  const double floor = rounding_floor(values);
  row = above(floor, row);
  column = above(floor, column);
  residual = above(floor, residual);
  return TwoWayMeanSquares{.rows = rows,
                           .columns = columns,
                           .row = row / (n - 1.0),
                           .column = column / (k - 1.0),
                           .residual = residual / ((n - 1.0) * (k - 1.0)),
                           .within = (column + residual) / (n * (k - 1.0))};
}

Result<OneWayMeanSquares> one_way_mean_squares(std::span<const double> values,
                                               std::span<const std::size_t> sizes) {
  const std::size_t total = std::accumulate(sizes.begin(), sizes.end(), std::size_t{0});
  if (total != values.size())
    return fail(Errc::invalid, "the group sizes add up to {}, there are {} values", total, values.size());
  std::size_t groups = 0, smallest = total, largest = 0;
  for (const std::size_t size : sizes) {
    if (size == 0) continue;
    ++groups;
    smallest = std::min(smallest, size);
    largest = std::max(largest, size);
  }
  if (groups < 2) return fail(Errc::undefined, "fewer than two groups have a value");
  if (largest < 2) return fail(Errc::undefined, "no group has two values");

  const std::vector<double> x = centered(values);
  double between = 0.0, within = 0.0, squared_sizes = 0.0;
  std::size_t start = 0;
  for (const std::size_t size : sizes) {
    if (size == 0) continue;
    const std::span group(x.data() + start, size);
    const auto n_i = static_cast<double>(size);
    const double mean = std::accumulate(group.begin(), group.end(), 0.0) / n_i;
    between += n_i * mean * mean;
    for (const double value : group) within += (value - mean) * (value - mean);
    squared_sizes += n_i * n_i;
    start += size;
  }
  const double floor = rounding_floor(values);
  const auto n = static_cast<double>(groups), all = static_cast<double>(total);
  return OneWayMeanSquares{.groups = groups,
                           .values = total,
                           .balanced = smallest == largest,
                           .between = above(floor, between) / (n - 1.0),
                           .within = above(floor, within) / (all - n),
                           .k0 = (all - squared_sizes / all) / (n - 1.0)};
}

}  // namespace evenhand::stats
