#include "agreement/from_scores.hpp"

namespace evenhand::agreement {

Level level_of(scores::Level level) {
  switch (level) {
    case scores::Level::nominal:
      return Level::nominal;
    case scores::Level::ordinal:
      return Level::ordinal;
    case scores::Level::interval:
      break;
  }
  return Level::interval;
}

ScoreMatrix matrix_of(const scores::Resolved& resolved) {
  ScoreMatrix matrix;
  for (const auto& column : resolved.raters) matrix.raters.push_back(column.label());
  for (const auto& id : resolved.cases) matrix.cases.push_back(id.text());
  for (const auto& id : resolved.items) matrix.items.push_back(id.text());
  matrix.categories = resolved.categories;
  matrix.key = resolved.key;
  matrix.resize_cells();
  for (std::size_t item = 0; item < resolved.items.size(); ++item)
    for (std::size_t rater = 0; rater < resolved.raters.size(); ++rater)
      for (std::size_t case_ = 0; case_ < resolved.cases.size(); ++case_) {
        const scores::Cell& cell = resolved.at(item, rater, case_);
        if (cell.scored()) matrix.at(item, rater, case_) = {cell.category, cell.filled()};
      }
  return matrix;
}

}  // namespace evenhand::agreement
