#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "scores/read_long.hpp"

namespace evenhand::scores {

/// What the columns of a wide table are.
enum class Wide : std::uint8_t {
  items,   ///< one row a (rater, case), one column an item
  raters,  ///< one row a case, one column a rater
};

/// Reads scores in wide form.
///
/// Columns `rater` (with Wide::items), `case`, and as wanted `round`, `sitting` and (with Wide::raters)
/// `item`; every other column is an item or a rater, by its name. A cell is a score, empty (not scored), or
/// the word of a status without score (`not-tested`, `refused`, ...). The columns of the long form that
/// fit no single cell (`score`, `status`, `trial`, `seconds`, `at`, `case_version`, `obs.NAME`) are refused.
/// The rest is as for `read_long`.
ReadResult read_wide(std::string_view text, const std::string& name, Wide wide);

}  // namespace evenhand::scores
