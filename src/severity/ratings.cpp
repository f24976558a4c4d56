#include "severity/ratings.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

namespace evenhand::severity {
namespace {

Result<void> check_levels(std::span<const double> points) {
  for (std::size_t k = 0; k < points.size(); ++k) {
    if (!std::isfinite(points[k]))
      return fail(Errc::invalid, "level {} is worth no finite number of points", k);
    if (k > 0 && !(points[k] > points[k - 1]))
      return fail(Errc::invalid, "level {} is worth {} points and level {} before it {}: levels ascend", k,
                  points[k], k - 1, points[k - 1]);
  }
  return {};
}

Result<void> check_place(std::size_t row, const char* what, std::size_t place, std::size_t known) {
  if (place < known) return {};
  return fail(Errc::invalid, "score {} names {} {}, but there are {} (counted from 0)", row, what, place,
              known);
}

}  // namespace

Result<Ratings> Ratings::from(Contents contents) {
  if (auto levels = check_levels(contents.level_points); !levels) return tl::unexpected(levels.error());
  if (contents.key && *contents.key >= contents.raters.size())
    return fail(Errc::invalid, "the key is rater {}, but there are {} raters (counted from 0)", *contents.key,
                contents.raters.size());
  for (std::size_t row = 0; row < contents.scores.size(); ++row) {
    const Score& s = contents.scores[row];
    for (const auto& [what, place, known] : {std::tuple{"case", s.case_, contents.cases.size()},
                                             std::tuple{"rater", s.rater, contents.raters.size()},
                                             std::tuple{"item", s.item, contents.items.size()},
                                             std::tuple{"level", s.level, contents.level_points.size()}})
      if (auto checked = check_place(row + 1, what, place, known); !checked)
        return tl::unexpected(checked.error());
  }
  std::ranges::sort(contents.scores, {},
                    [](const Score& s) { return std::tuple(s.case_, s.rater, s.item, s.level); });
  return Ratings(std::move(contents));
}

}  // namespace evenhand::severity
