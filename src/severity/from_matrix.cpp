#include "severity/from_matrix.hpp"

#include "agreement/scale.hpp"

namespace evenhand::severity {

Result<Ratings> ratings_of(const agreement::ScoreMatrix& matrix, std::optional<agreement::Level> level) {
  const auto scale = agreement::make_scale(matrix.categories, level);
  if (!scale) return tl::unexpected(scale.error());
  if (!scale->ordered()) return fail(Errc::invalid, "nominal categories have no order");
  if (scale->size() > most_levels)
    return fail(Errc::invalid,
                "more than {} levels: each step between two would need scores of its own; give the scores of "
                "single items",
                most_levels);
  Contents contents;
  contents.cases = matrix.cases;
  contents.raters = matrix.raters;
  contents.items = matrix.items;
  contents.level_points = scale->values;
  contents.key = matrix.key;
  for (std::uint32_t item = 0; item < matrix.items.size(); ++item)
    for (std::uint32_t rater = 0; rater < matrix.raters.size(); ++rater)
      for (std::uint32_t case_ = 0; case_ < matrix.cases.size(); ++case_) {
        const auto& [category, filled] = matrix.at(item, rater, case_);
        if (category < 0 || filled) continue;
        contents.scores.push_back({case_, rater, item, static_cast<std::uint32_t>(category)});
      }
  return Ratings::from(std::move(contents));
}

}  // namespace evenhand::severity
