#include "agreement/sem_by_level.hpp"

#include <optional>
#include <vector>

#include "agreement/icc_reml.hpp"

namespace evenhand::agreement {
namespace {

std::optional<double> mean_of(const RatingTable& table, std::size_t case_) {
  double sum = 0.0, n = 0.0;
  for (std::size_t j = 0; j < table.raters(); ++j)
    if (const auto cell = table.at(case_, j)) {
      sum += *cell;
      n += 1.0;
    }
  return n > 0.0 ? std::optional(sum / n) : std::nullopt;
}

bool all_alike(const std::vector<std::vector<RatingTable::Cell>>& rows) {
  std::optional<double> first;
  for (const auto& row : rows)
    for (const auto& cell : row) {
      if (!cell) continue;
      if (!first) first = cell;
      if (*cell != *first) return false;
    }
  return true;
}

}  // namespace

std::array<SemInThird, 3> sem_by_level(const RatingTable& table, double lowest, double highest,
                                       double confidence) {
  std::array<SemInThird, 3> thirds{};
  std::array<std::vector<std::vector<RatingTable::Cell>>, 3> rows;
  for (std::size_t t = 0; t < 3; ++t) {
    const double width = (highest - lowest) / 3.0;
    thirds[t].from = lowest + width * static_cast<double>(t);
    thirds[t].to = t == 2 ? highest : lowest + width * static_cast<double>(t + 1);
  }
  for (std::size_t i = 0; i < table.cases(); ++i) {
    const auto mean = mean_of(table, i);
    if (!mean) continue;
    const std::size_t t = *mean < thirds[1].from ? 0 : *mean < thirds[2].from ? 1 : 2;
    std::vector<RatingTable::Cell> row;
    for (std::size_t j = 0; j < table.raters(); ++j) {
      row.push_back(table.at(i, j));
      thirds[t].ratings += row.back().has_value();
    }
    ++thirds[t].cases;
    rows[t].push_back(std::move(row));
  }
  for (std::size_t t = 0; t < 3; ++t) {
    constexpr Reason none{"no case has its mean in this third of the scale"};
    constexpr Reason one{"one case has its mean in this third of the scale: two are needed"};
    if (rows[t].size() < 2) {
      thirds[t].sem = Estimate::undefined(rows[t].empty() ? none : one);
      continue;
    }
    const auto part = RatingTable::from_rows(rows[t]);
    const IccReml fit = icc_reml(*part, {.confidence = confidence});
    thirds[t].sem = fit.sem_agreement;
    if (all_alike(rows[t]) && fit.raters >= 2)
      thirds[t].sem = {0.0, Reason("all scores are the same: limits are not defined"),
                       Reason("all scores are the same: limits are not defined"), "modified large-sample",
                       false};
  }
  return thirds;
}

}  // namespace evenhand::agreement
