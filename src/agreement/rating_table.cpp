#include "agreement/rating_table.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

namespace evenhand::agreement {
namespace {

constexpr double not_rated = std::numeric_limits<double>::quiet_NaN();

bool rated(double cell) { return !std::isnan(cell); }

}  // namespace

RatingTable::RatingTable(std::size_t cases, std::size_t raters)
    : cases_(cases), raters_(raters), cells_(cases * raters, not_rated) {}

Result<RatingTable> RatingTable::from_rows(std::span<const std::vector<Cell>> rows) {
  const std::size_t raters = rows.empty() ? 0 : rows.front().size();
  RatingTable table(rows.size(), raters);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows[i].size() != raters)
      return fail(Errc::invalid, "row {}: {} cells where the first row has {}", i + 1, rows[i].size(),
                  raters);
    for (std::size_t j = 0; j < raters; ++j) {
      const Cell& cell = rows[i][j];
      if (!cell) continue;
      if (auto ok = table.set(i, j, *cell); !ok) return tl::unexpected(ok.error());
    }
  }
  return table;
}

RatingTable::Cell RatingTable::at(std::size_t case_, std::size_t rater) const {
  const double cell = cells_[case_ * raters_ + rater];
  return rated(cell) ? Cell(cell) : std::nullopt;
}

Result<void> RatingTable::set(std::size_t case_, std::size_t rater, double value) {
  if (!std::isfinite(value))
    return fail(Errc::invalid, "row {}, rater {}: not a finite number", case_ + 1, rater + 1);
  cells_[case_ * raters_ + rater] = value;
  return {};
}

std::size_t RatingTable::ratings() const {
  return static_cast<std::size_t>(std::count_if(cells_.begin(), cells_.end(), rated));
}

bool RatingTable::complete() const { return std::all_of(cells_.begin(), cells_.end(), rated); }

RatingTable RatingTable::complete_cases() const {
  RatingTable kept(0, raters_);
  kept.cells_.reserve(cells_.size());
  for (std::size_t i = 0; i < cases_; ++i) {
    const auto row = std::span(cells_).subspan(i * raters_, raters_);
    if (!std::all_of(row.begin(), row.end(), rated)) continue;
    kept.cells_.insert(kept.cells_.end(), row.begin(), row.end());
    ++kept.cases_;
  }
  return kept;
}

std::span<const double> RatingTable::values() const {
  assert(complete());
  return cells_;
}

bool operator==(const RatingTable& a, const RatingTable& b) {
  return a.cases_ == b.cases_ && a.raters_ == b.raters_ &&
         std::equal(a.cells_.begin(), a.cells_.end(), b.cells_.begin(),
                    [](double x, double y) { return x == y || (!rated(x) && !rated(y)); });
}

}  // namespace evenhand::agreement
