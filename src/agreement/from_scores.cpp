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
  matrix.cells.reserve(resolved.cells.size());
  for (const scores::Cell& cell : resolved.cells)  // both lay out items x raters x cases
    matrix.cells.push_back({cell.scored() ? cell.category : -1, cell.filled()});
  return matrix;
}

}  // namespace evenhand::agreement
