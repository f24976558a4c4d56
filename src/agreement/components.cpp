#include "agreement/components.hpp"

#include <vector>

namespace evenhand::agreement {

Components components_anova(const stats::TwoWayMeanSquares& squares) {
  const auto n = static_cast<double>(squares.rows), k = static_cast<double>(squares.columns);
  return {.case_ = (squares.row - squares.residual) / k,
          .rater = (squares.column - squares.residual) / n,
          .residual = squares.residual};
}

OneWayComponents components_one_way(const stats::OneWayMeanSquares& squares) {
  return {.case_ = (squares.between - squares.within) / squares.k0, .within = squares.within};
}

Result<stats::TwoWayMeanSquares> two_way(const RatingTable& table) {
  const RatingTable kept = table.complete_cases();
  return stats::two_way_mean_squares(kept.values(), kept.cases(), kept.raters());
}

Result<stats::OneWayMeanSquares> one_way(const RatingTable& table) {
  std::vector<double> values;
  std::vector<std::size_t> sizes(table.cases());
  for (std::size_t i = 0; i < table.cases(); ++i)
    for (std::size_t j = 0; j < table.raters(); ++j)
      if (const auto cell = table.at(i, j)) {
        values.push_back(*cell);
        ++sizes[i];
      }
  return stats::one_way_mean_squares(values, sizes);
}

}  // namespace evenhand::agreement
