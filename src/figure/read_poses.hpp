#pragma once

#include <optional>
#include <string_view>

#include "cases/vocabulary.hpp"
#include "document/fault.hpp"
#include "figure/poses.hpp"

namespace evenhand::figure {

/// Reads a file of `format: evenhand/poses-1`.
///
/// Faults: what no file of that format has; a word that the vocabulary does not know, or one that is never
/// played; a point, view, group or joint that there is not; numbers that are too few or too many.
std::optional<Poses> read_poses(std::string_view text, std::string_view name,
                                const cases::Vocabulary& vocabulary, document::Faults& faults);

}  // namespace evenhand::figure
