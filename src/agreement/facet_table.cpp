#include "agreement/facet_table.hpp"

#include <cmath>

namespace evenhand::agreement {

Result<FacetTable> FacetTable::from_scores(std::span<const FacetScore> scores, std::size_t cases,
                                           std::size_t raters, std::size_t items) {
  FacetTable table(cases, raters, items);
  for (std::size_t i = 0; i < scores.size(); ++i) {
    const FacetScore& s = scores[i];
    if (s.case_ >= cases || s.rater >= raters || s.item >= items)
      return fail(Errc::invalid, "score {}: case {}, rater {}, item {} is outside {} x {} x {}", i + 1,
                  s.case_ + 1, s.rater + 1, s.item + 1, cases, raters, items);
    if (!std::isfinite(s.score)) return fail(Errc::invalid, "score {}: not a finite number", i + 1);
    auto& cell = table.cells_[(s.case_ * raters + s.rater) * items + s.item];
    if (cell)
      return fail(Errc::invalid, "score {}: case {}, rater {}, item {} has a score already", i + 1,
                  s.case_ + 1, s.rater + 1, s.item + 1);
    cell = s.score;
    ++table.filled_;
  }
  return table;
}

}  // namespace evenhand::agreement
