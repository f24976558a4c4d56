#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "agreement/estimate.hpp"
#include "base/error.hpp"

namespace evenhand::agreement {

/// The categories of a measure in their order, and what may be done with them.
struct Scale {
  Level level;
  std::vector<std::string> categories;
  std::vector<double>
      values;    ///< the number each category is; its rank 0, 1, ... where labels are not all numbers
  bool numeric;  ///< every category is a number ("1+" is a rank)

  std::size_t size() const { return categories.size(); }
  bool ordered() const { return level != Level::nominal; }
  /// Means, SDs and variance components make sense.
  bool has_distances() const { return ordered() && numeric; }
};

/// `level` absent: ordinal when all categories are whole numbers, interval for other numbers,
/// nominal for text.
/// Errors: invalid  no category, one that stands twice (as text or as a number), or an interval
///                  level for categories that are not numbers
Result<Scale> make_scale(std::vector<std::string> categories, std::optional<Level> level = {});

}  // namespace evenhand::agreement
