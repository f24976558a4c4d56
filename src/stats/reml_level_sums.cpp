#include "stats/reml_level_sums.hpp"

#include <algorithm>
#include <cstdint>
#include <set>

namespace evenhand::stats {
namespace {

/// Copies the upper triangle into the lower.
void mirror(Dense& a) {
  for (std::size_t i = 0; i < a.rows(); ++i)
    for (std::size_t j = 0; j < i; ++j) a(i, j) = a(j, i);
}

/// The values level by level: where each level starts, and the order.
struct ByLevel {
  std::vector<std::size_t> start, order;

  explicit ByLevel(const Factor& a) : start(a.levels + 1), order(a.level.size()) {
    for (const auto level : a.level) ++start[level + 1];
    for (std::size_t i = 0; i < a.levels; ++i) start[i + 1] += start[i];
    std::vector<std::size_t> next = start;
    for (std::size_t i = 0; i < order.size(); ++i) order[next[a.level[i]]++] = i;
  }
};

}  // namespace

LevelSums::LevelSums(const Factor& a, const Factor* b, std::span<const double> y, std::size_t most_cells)
    : width_(2 + (b ? b->levels : 0)), counts_(a.levels), rows_(a.levels), within_(width_, width_) {
  const ByLevel by(a);
  const std::size_t last = width_ - 1;
  std::vector<double> k(width_);
  for (std::size_t i = 0; i < a.levels; ++i) {
    const auto values = std::span(by.order).subspan(by.start[i], by.start[i + 1] - by.start[i]);
    std::fill(k.begin(), k.end(), 0.0);
    for (const std::size_t value : values) {
      k[0] += 1.0;
      k[last] += y[value];
      if (b) k[1 + b->level[value]] += 1.0;
    }
    counts_[i] = k[0];
    for (const std::size_t value : values) {
      const double rest = y[value] - k[last] / k[0];
      within_(last, last) += rest * rest;
      if (!b) continue;
      const std::size_t place = 1 + b->level[value];
      within_(place, last) += rest;
      within_(place, place) += 1.0;
    }
    for (std::size_t j = 0; j < width_; ++j)
      if (k[j] != 0.0) rows_[i].push_back({j, k[j]});
    const std::size_t of_b = rows_[i].size() - 1 - (k[last] != 0.0);
    add_outer(within_, -1.0 / k[0], std::span(rows_[i]).subspan(1, of_b));
  }
  mirror(within_);
  group(most_cells);
}

void LevelSums::group(std::size_t most_cells) {
  const std::set<double> distinct(counts_.begin(), counts_.end());
  if (distinct.size() * width_ * width_ > most_cells) return;
  for (const double n : distinct) groups_.emplace(n, Dense(width_, width_));
  for (std::size_t i = 0; i < rows_.size(); ++i) add_outer(groups_.at(counts_[i]), 1.0, rows_[i]);
  rows_.clear();
}

/// The upper triangle only.
void LevelSums::add_outer(Dense& sum, double weight, std::span<const Entry> k) {
  for (std::size_t i = 0; i < k.size(); ++i) {
    const auto row = sum.row(k[i].place);
    const double factor = weight * k[i].value;
    for (std::size_t j = i; j < k.size(); ++j) row[k[j].place] += factor * k[j].value;
  }
}

Dense LevelSums::weighted(const std::function<double(double)>& weight) const {
  Dense sum(width_, width_);
  for (const auto& [n, group] : groups_) {
    const double factor = weight(n);
    for (std::size_t i = 0; i < width_; ++i)
      add_scaled(sum.row(i).subspan(i), factor, group.row(i).subspan(i));
  }
  for (std::size_t i = 0; i < rows_.size(); ++i) add_outer(sum, weight(counts_[i]), rows_[i]);
  mirror(sum);
  return sum;
}

}  // namespace evenhand::stats
