#pragma once

#include <optional>
#include <string>

#include "cases/library.hpp"
#include "scores/score_table.hpp"

namespace evenhand::cli {

/// The table with the keys of the library's cases added as the rater `key`, unless one of its raters is the
/// key already (the one named, or `key`). Cases that the library does not have get no key.
Result<scores::ScoreTable> with_library_key(scores::ScoreTable table, const std::optional<RaterId>& named,
                                            const cases::Library& library, const std::string& instrument);

}  // namespace evenhand::cli
