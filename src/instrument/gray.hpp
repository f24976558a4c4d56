#pragma once

#include <optional>
#include <string>
#include <vector>

#include "instrument/classify.hpp"

namespace evenhand::instrument {

/// A box of gray cells of one item with the same claims, the same ruling and the same answer.
struct GrayRegion {
  CellKind kind = CellKind::open;     ///< open or several
  std::uint32_t claims = 0;           ///< levels that describe it, by place
  std::optional<std::size_t> level;   ///< nothing: nobody has ruled
  std::optional<std::size_t> ruling;  ///< place in Classification::rulings
  Box box;
  std::size_t cells = 0;    ///< gray cells in the box that no region before it holds
  std::size_t unusual = 0;  ///< facts that differ from the usual in its most usual cell
};

/// Merges the gray cells of an item into the largest boxes, the common ones first: fewest facts that
/// differ from what is usual, then the larger box. Cells that cannot be seen may lie in a box: they are no
/// exception to it. Boxes may overlap where that makes both larger; every gray cell lies in one at least.
std::vector<GrayRegion> gray_regions(const Scoring& scoring, std::size_t item);

/// What is in the box, in plain words: "a clear step ahead; held 15 s or more but under 30 s". Axes that it
/// spans whole are not mentioned, nor usual facts.
std::string region_words(const Scoring& scoring, std::size_t item, const GrayRegion& region);

/// "no level describes it" or "levels 2 and 0 describe it".
std::string claims_words(const Item& item, const GrayRegion& region);

}  // namespace evenhand::instrument
